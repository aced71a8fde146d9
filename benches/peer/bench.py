"""Runs lowstave, the scripted pipeline and GDAL's half of the job on three standard loads, in turn, and prints medians.

    python bench.py --work DIR [--runs 5] [--lowstave PATH] [--loads small,medium,large] [--command "NAME=COMMAND"]

COMMAND may hold {points} {boundary} {cell} {layers} {plan} {out}; it is one more contender, run in turn with the others, so that every
ratio comes from one run on one machine. Wall time, CPU time and peak memory are of the whole process, start-up and imports included.
Prints a Markdown table and, as the last line, everything as JSON.
"""

import argparse
import json
import os
import shlex
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from lowstave_plan import write_plan

HERE = Path(__file__).resolve().parent
PROJECT = HERE.parent.parent
LAYERS = "ph,om_pct,ca_ppm,eca_ms_m"


def interpolation(said, written):
    """Seconds of the interpolation alone, as each contender says; ours hold leave-one-out and the doubt of every cell too."""
    if written and (written / "run.json").exists():
        return json.loads((written / "run.json").read_text())["timings"]["surface"]
    seconds = said.get("seconds", {})
    return seconds.get("interpolate", seconds.get("gdal_grid"))


def run(command, allowed, written):
    with tempfile.TemporaryFile() as output:
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=output, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(process.pid, 0)
        wall = time.perf_counter() - start
        output.seek(0)
        text = output.read().decode(errors="replace")
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in allowed:
        raise RuntimeError(f"{command}: exit code {process.returncode}")
    line = text.strip().splitlines()[-1] if text.strip() else "{}"
    said = json.loads(line) if line.startswith("{") else {}
    return {"wall": wall, "cpu": usage.ru_utime + usage.ru_stime, "mib": usage.ru_maxrss / 1024, "inside": said.get("total_seconds"),
            "interpolation": interpolation(said, written)}


def standard_loads(work, wanted):
    """Name, points, boundary, cell in metres, EPSG and radius for GDAL, layers. The two larger ones are invented and seeded."""
    loads = []
    if "small" in wanted:
        data = PROJECT / "samples/open-field"
        loads.append(("open field, 250 points, 5 m", data / "cores.csv", data / "boundary.geojson", 5, 25833, 300, "ph_cacl2,soc_pct,clay_pct,era_ohm_m"))
    for key, points, hectares, cell, radius in (("medium", 160, 65, 2, 300), ("large", 1_000_000, 1000, 5, 25)):
        if key in wanted:
            folder = work / key
            if not (folder / "boundary.geojson").exists():
                subprocess.run([sys.executable, HERE / "make_load.py", "--points", str(points), "--hectares", str(hectares), "--seed", "1", "--out", folder],
                               check=True, stdout=subprocess.DEVNULL)
            loads.append((f"{hectares} ha, {points:,} points, {cell} m", folder / "points.csv", folder / "boundary.geojson", cell, 32615, radius, LAYERS))
    return loads


def contenders_for(load, a, out):
    _, points, boundary, cell, epsg, radius, layers = load
    plan = write_plan(points, boundary, cell, layers.split(","), out)
    contenders = {}
    if a.lowstave.exists():
        # Exit code 1 means: done, with remarks that somebody should look at.
        contenders["lowstave"] = ([a.lowstave, "plan", plan, "--out", out / "lowstave", "--quiet"], (0, 1), out / "lowstave")
    contenders["peer_pipeline.py"] = ([sys.executable, HERE / "peer_pipeline.py", "--points", points, "--boundary", boundary, "--cell", cell,
                                       "--layers", layers, "--out", out / "zones.geojson"], (0,), None)
    if shutil.which("gdal_grid"):
        contenders["peer_gdal.sh"] = ([HERE / "peer_gdal.sh", points, boundary, epsg, cell, radius, out / "gdal", *layers.split(",")], (0,), None)
    for extra in a.command:
        label, command = extra.split("=", 1)
        filled = command.format(points=points, boundary=boundary, cell=cell, layers=layers, plan=plan, out=out / label)
        contenders[label] = (shlex.split(filled), (0, 1), out / label)
    return contenders


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--work", type=Path, required=True)
    arguments.add_argument("--runs", type=int, default=5)
    arguments.add_argument("--lowstave", type=Path, default=PROJECT / "target/release/lowstave")
    arguments.add_argument("--loads", default="small,medium,large")
    arguments.add_argument("--command", action="append", default=[])
    a = arguments.parse_args()
    a.work.mkdir(parents=True, exist_ok=True)
    a.work, results = a.work.resolve(), []
    for load in standard_loads(a.work, a.loads.split(",")):
        out = a.work / "out"
        out.mkdir(exist_ok=True)
        contenders = contenders_for(load, a, out)
        measured = {label: [] for label in contenders}
        for _ in range(a.runs):
            for label, (command, allowed, written) in contenders.items():
                if written:
                    shutil.rmtree(written, ignore_errors=True)
                measured[label].append(run([str(part) for part in command], allowed, written))
        for label, runs in measured.items():
            middle = lambda key: statistics.median(r[key] for r in runs)
            known = lambda key: [r[key] for r in runs if r[key] is not None]
            inside, alone = known("inside"), known("interpolation")
            results.append({"load": load[0], "who": label, "wall_s": middle("wall"), "wall_min_s": min(r["wall"] for r in runs),
                            "wall_max_s": max(r["wall"] for r in runs), "inside_s": statistics.median(inside) if inside else None,
                            "interpolation_s": statistics.median(alone) if alone else None, "cpu_s": middle("cpu"), "peak_mib": middle("mib")})
    report(results)


def report(results):
    print("| load | who | wall, s (min-max) | inside, s | interpolation alone, s | CPU, s | peak memory, MiB | wall / lowstave | memory / lowstave |\n|---|---|---|---|---|---|---|---|---|")
    for r in results:
        ours = next((o for o in results if o["load"] == r["load"] and o["who"] == "lowstave"), None)
        ratio = lambda key: f"{r[key] / ours[key]:.1f}" if ours else "-"
        seconds = lambda key: "-" if r[key] is None else f"{r[key]:.3f}"
        print(f"| {r['load']} | `{r['who']}` | {r['wall_s']:.3f} ({r['wall_min_s']:.3f}-{r['wall_max_s']:.3f}) | {seconds('inside_s')} | {seconds('interpolation_s')} | {r['cpu_s']:.2f} "
              f"| {r['peak_mib']:.0f} | {ratio('wall_s')} | {ratio('peak_mib')} |")
    print(json.dumps(results))


if __name__ == "__main__":
    main()
