"""Times `lowstave verdict` on a made harvest, side by side with a plain pipeline of pandas and scipy; everything here is invented.

    python benches/verdict/bench.py --work DIR --records 1000000 --runs 3

Needs pandas, scipy and pyproj (pip install pandas scipy pyproj), `target/release/lowstave` and GNU time. The field, its plan and the harvest are made in
--work and left there. Contenders run in turn; the smallest, middle and largest wall time and the peak of memory are printed.
"""

import argparse
import json
import pathlib
import statistics
import subprocess
import sys
import time

import numpy as np
import pyproj

HERE = pathlib.Path(__file__).resolve().parent
SWATH = 12.192
STEP = 2.7
SECONDS = 1.5
LOSS = 9.0
HOME = "+proj=tmerc +lat_0={lat} +lon_0={lon} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs"


def make_field(work: pathlib.Path, records: int) -> None:
    """A square field that holds about so many records, with 49 cores short of phosphorus."""
    side = (records * STEP * SWATH) ** 0.5
    home = pyproj.Transformer.from_crs(HOME.format(lat=44.2, lon=-95.87), "EPSG:4326", always_xy=True)
    corner = [home.transform(x * side / 2, y * side / 2) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))]
    shape = {"type": "Polygon", "coordinates": [corner]}
    (work / "boundary.geojson").write_text(json.dumps({"type": "Feature", "properties": {}, "geometry": shape}))
    random = np.random.default_rng(1)
    rows = ["id,lon,lat,P ppm (Mehlich-3),pH (water),OM %"]
    for number in range(49):
        x, y = ((number % 7 + 0.5) / 7 - 0.5) * side, ((number // 7 + 0.5) / 7 - 0.5) * side
        lon, lat = home.transform(x, y)
        rows.append(f"C{number},{lon:.7f},{lat:.7f},{random.normal(9, 1):.1f},{random.normal(6.6, 0.1):.2f},{random.normal(4, 0.2):.2f}")
    (work / "cores.csv").write_text("\n".join(rows) + "\n")
    (work / "plan.toml").write_text(
        f"""field = "Wide Bench (invented)"
season = 2027
crop = "corn"
units = "us"
boundary = {{ file = "boundary.geojson" }}
[[points]]
file = "cores.csv"
kind = "cores"
depth = "0-6 in"
id = "id"
[grid]
cell = "25 m"
[zones]
count = 1
[machine]
swath = "{SWATH} m"
row_spacing = "30 in"
heading = 0
speed = "5 mph"
tank = "300 gal"
flow_per_row = ["0.01 gal/min", "0.2 gal/min"]
[strips]
products = ["starter"]
count = 12
header = "{SWATH} m"
[[override]]
zone = 1
product = "starter"
rate = "3 gal/ac"
why = "invented: so that there is something to leave out"
"""
    )


def make_harvest(work: pathlib.Path) -> int:
    """Records on every pass of the planter; without starter 9 bu/ac are lost."""
    run = json.loads((work / "out/run.json").read_text())
    frame = run["strips"]["sets"][0]["machines"]["frame"]
    checks = run["strips"]["sets"][0]["draw"]["checks"]
    origin = run["field"]["origin"]
    home = pyproj.Transformer.from_crs(
        HOME.format(lat=origin["latitude"], lon=origin["longitude"]), "EPSG:4326", always_xy=True
    )
    half = (run["field"]["area_m2"] ** 0.5) / 2 - 1
    random = np.random.default_rng(7)
    passes = int((2 * half) // SWATH)
    steps = int((2 * half) // STEP)
    along = -half + (np.arange(steps) + 0.5) * STEP
    blocks, clock = [], 0.0
    for number in range(passes):
        across = frame["left_m"] + (number + 0.5) * SWATH
        way = along if number % 2 == 0 else along[::-1]
        loss = np.zeros(steps)
        for check in checks:
            if check["position"] == number:
                for piece in check["pieces"]:
                    loss[(way >= piece["from_m"]) & (way <= piece["to_m"])] = LOSS
        ground = 168 + 14 * np.sin(across / 190) + 10 * np.cos(way / 240)
        bushels = ground + random.normal(0, 2) + random.normal(0, 6, steps) - loss
        moisture = 17 + random.random(steps)
        acres = STEP * SWATH / 4046.8564224
        flow = bushels * 56 * 84.5 / (100 - moisture) * acres / SECONDS
        clock += 60
        seconds = clock + SECONDS * (np.arange(steps) + 1)
        clock = seconds[-1]
        lon, lat = home.transform(np.full(steps, across), way)
        blocks.append(np.column_stack([lon, lat, seconds, flow, moisture]))
    rows = np.vstack(blocks)
    tail = f",{STEP / 0.3048:.2f},{SWATH / 0.3048:.1f}"
    with (work / "harvest.csv").open("w") as file:
        file.write("lon,lat,time_s,Flow (lb/s),Moisture %,Distance (ft),Width (ft)\n")
        for lon, lat, at, flow, moisture in rows:
            file.write(f"{lon:.7f},{lat:.7f},{at:.1f},{flow:.2f},{moisture:.1f}{tail}\n")
    return len(rows)


def timed(command: list[str], work: pathlib.Path) -> tuple[float, float, str]:
    """Wall time in seconds, peak memory in MiB, and what was printed."""
    peak = work / "peak"
    started = time.perf_counter()
    done = subprocess.run(["/usr/bin/time", "-f", "%M", "-o", str(peak), *command], capture_output=True, text=True, cwd=work)
    wall = time.perf_counter() - started
    if done.returncode not in (0, 1):
        sys.exit(f"{command}: {done.stderr}")
    return wall, int(peak.read_text().split()[-1]) / 1024, done.stdout


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--work", type=pathlib.Path, required=True)
    parser.add_argument("--records", type=int, default=1_000_000)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--lowstave", default=str(HERE.parents[1] / "target/release/lowstave"))
    arguments = parser.parse_args()
    work = arguments.work
    work.mkdir(parents=True, exist_ok=True)
    make_field(work, arguments.records)
    timed([arguments.lowstave, "plan", "plan.toml", "--out", "out", "--quiet", "--force"], work)
    print(f"{make_harvest(work):,} records")
    contenders = {
        "lowstave": [arguments.lowstave, "verdict", "out", "--results", "harvest.csv", "--out", "verdict", "--quiet", "--force"],
        "pipeline": [sys.executable, str(HERE / "pipeline.py"), "out/run.json", "harvest.csv"],
    }
    walls: dict[str, list[float]] = {name: [] for name in contenders}
    peaks: dict[str, float] = {}
    said: dict[str, str] = {}
    for _ in range(arguments.runs):
        for name, command in contenders.items():
            wall, peaks[name], said[name] = timed(command, work)
            walls[name].append(wall)
    for name, times in walls.items():
        print(f"{name:9} {min(times):7.2f} {statistics.median(times):7.2f} {max(times):7.2f} s   {peaks[name]:6.0f} MiB")
    print(said["pipeline"].strip())
    zones = json.loads((work / "verdict/verdict.json").read_text())["sets"][0]["zones"]
    print("lowstave:", [(zone["zone"], zone["gain"], zone["interval_90"], zone["strips"]) for zone in zones])


if __name__ == "__main__":
    main()
