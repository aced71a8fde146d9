"""Writes the lowstave plan that asks for the job of peer_pipeline.py: same points, layers, cells, power, neighbours, zones.

    python lowstave_plan.py --points cores.csv --boundary boundary.geojson --cell 5 --layers ph,om_pct --out DIR

Writes DIR/plan.toml: fixed power 2, 12 neighbours, 4 zones, nothing under 0.2 ha, so that no time goes into choosing. The layers
are those of make_load.py and of samples/open-field. Everything else that lowstave does (checking the input, leave-one-out, diagnosis,
rates, report) it still does: the peer does none of it.
"""

import argparse
import csv
from pathlib import Path

MEANING = {
    "ph": '{ is = "ph", method = "water" }',
    "om_pct": '{ is = "organic_matter", method = "loi", unit = "%" }',
    "ca_ppm": '{ is = "ca", method = "ammonium-acetate", unit = "ppm" }',
    "eca_ms_m": '{ is = "covariate:eca" }',
    "ph_cacl2": '{ is = "ph", method = "cacl2" }',
    "soc_pct": '{ is = "organic_carbon", method = "combustion", unit = "%" }',
    "clay_pct": '{ is = "clay", method = "pipette", unit = "%" }',
    "era_ohm_m": '{ is = "covariate:resistivity" }',
}

PLAN = """\
# Written by benches/peer/lowstave_plan.py: the job of peer_pipeline.py.
field    = "{name}"
season   = 2027
crop     = "corn"
units    = "metric"
boundary = {{ file = "{boundary}" }}

[[points]]
file   = "{points}"
kind   = "{kind}"
crs    = "EPSG:4326"
x      = "lon"
y      = "lat"
depth  = "0-15 cm"
ignore = [{ignore}]
  [points.columns]
{columns}

[grid]
cell = "{cell} m"

[surface]
power      = 2
neighbours = 12

[zones]
count    = 4
layers   = [{layers}]
smallest = "0.2 ha"

[machine]
swath        = "12 m"
row_spacing  = "75 cm"
heading      = 0
speed        = "8 km/h"
tank         = "1500 L"
flow_per_row = ["0.1 L/min", "1.2 L/min"]
"""


def write_plan(points, boundary, cell, layers, out):
    out = Path(out)
    out.mkdir(parents=True, exist_ok=True)
    with open(points, newline="") as file:
        header = next(csv.reader(file))
    used = {"lon", "lat", *layers}
    with open(points, "rb") as file:
        # Up to 5,000 rows are cores on a grid, more are a sensor survey, see make_load.py. The peer reads no sample names, so neither does this plan.
        kind = "cores" if sum(1 for _ in file) <= 5001 else "readings"
    plan = PLAN.format(
        kind=kind, name=f"load of {Path(points).name}", boundary=Path(boundary).resolve().as_posix(), points=Path(points).resolve().as_posix(), cell=cell,
        ignore=", ".join(f'"{name}"' for name in header if name not in used),
        columns="\n".join(f'  "{name}" = {MEANING[name]}' for name in layers),
        layers=", ".join('"' + MEANING[name].split('"')[1] + '"' for name in layers))
    path = out / "plan.toml"
    path.write_text(plan)
    return path


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name in ("points", "boundary", "cell", "layers", "out"):
        arguments.add_argument(f"--{name}", required=True)
    a = arguments.parse_args()
    print(write_plan(a.points, a.boundary, a.cell, a.layers.split(","), a.out))


if __name__ == "__main__":
    main()
