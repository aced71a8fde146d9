"""Small INVENTED fields for the tests of many machines: nothing here was measured, no such farm exists.

    python small_fields.py --fields 200 --out DIR      # DIR/f00000/{plan.toml,boundary.geojson,cores.csv} ... and DIR/farm.toml

Field i is the same bytes whatever else is made beside it. Only the standard library and whole numbers decide it, so that it is the same on
every machine.
"""

import argparse
import json
import random
from pathlib import Path

CORES_A_SIDE = 4
PLAN = """# invented: no such farm, field or laboratory
field    = "Invented {index:05d}"
season   = 2027
crop     = "corn"
units    = "us"
boundary = {{ file = "boundary.geojson" }}

[[points]]
file = "cores.csv"
kind = "cores"
crs  = "EPSG:4326"
x    = "lon"
y    = "lat"
id   = "core"
top        = "from_in"
bottom     = "to_in"
depth_unit = "in"

  [points.columns]
  "pH"     = {{ is = "ph", method = "water" }}
  "OM %"   = {{ is = "organic_matter", method = "loi", unit = "%" }}
  "P ppm"  = {{ is = "p", method = "mehlich-3", unit = "ppm" }}
  "K ppm"  = {{ is = "k", method = "ammonium-acetate", unit = "ppm" }}
  "Zn ppm" = {{ is = "zn", method = "dtpa", unit = "ppm" }}

[grid]
cell = "{cell}"

[zones]
count    = "auto"
smallest = "0.5 ac"

[machine]
swath        = "40 ft"
row_spacing  = "30 in"
speed        = "5 mph"
tank         = "400 gal"
flow_per_row = ["0.03 gal/min", "0.30 gal/min"]
"""
#: 1e-7 degree, about a centimetre.
UNIT = 1e-7
#: What a poisoned field's plan says: a grid that takes more than any worker has, and leave to take it.
POISON = '\n[limits]\nmemory = "200 GB"\ntime = "100 h"\ndisk = "2000 GB"\n'


def field_id(index):
    return f"f{index:05d}"


def field(index):
    """Name to bytes of the files of field `index`."""
    chance = random.Random(index)
    west, south = -1_000_000_000 + (index % 100) * 100_000, 410_000_000 + (index // 100) * 100_000
    wide, high = chance.randrange(22_000, 34_000), chance.randrange(17_000, 26_000)
    corners = [(0, 0), (wide, 0), (wide, high), (0, high), (0, 0)]
    ring = [[round((west + x) * UNIT, 7), round((south + y) * UNIT, 7)] for x, y in corners]
    boundary = {"type": "Feature", "properties": {"origin": "invented"}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    rows = ["core,lon,lat,from_in,to_in,pH,OM %,P ppm,K ppm,Zn ppm"]
    slope, level = chance.randrange(-9, 10), chance.randrange(-8, 9)
    for at in range(CORES_A_SIDE**2):
        column, row = at % CORES_A_SIDE, at // CORES_A_SIDE
        x = wide * (4 * column + 2) // (4 * CORES_A_SIDE) + chance.randrange(-800, 801)
        y = high * (4 * row + 2) // (4 * CORES_A_SIDE) + chance.randrange(-600, 601)
        wave = slope * (column - row) + level
        values = [
            f"{6.3 + wave / 30 + chance.randrange(-2, 3) / 10:.1f}",
            f"{2.6 + wave / 20 + chance.randrange(-3, 4) / 10:.1f}",
            f"{48 + wave + chance.randrange(-5, 6)}",
            f"{170 + 4 * wave + chance.randrange(-20, 21)}",
            f"{0.9 + wave / 60 + chance.randrange(-2, 3) / 10:.1f}",
        ]
        rows.append(f"C{at + 1:02d},{(west + x) * UNIT:.7f},{(south + y) * UNIT:.7f},0,6," + ",".join(values))
    return {
        "plan.toml": PLAN.format(index=index, cell="10 m").encode(),
        "boundary.geojson": json.dumps(boundary).encode(),
        "cores.csv": ("\n".join(rows) + "\n").encode(),
    }


def poisoned(index, layers=0):
    """A field that takes its process down where memory is limited: its plan allows more than there is.

    Each of `layers` is a map more, of some 0.2 GB.
    """
    files = field(index)
    names = [f"slope {at}" for at in range(layers)]
    columns = "".join(f'  "{name}" = {{ is = "covariate:slope_{at}" }}\n' for at, name in enumerate(names))
    plan = PLAN.format(index=index, cell="0.05 m").replace("\n[grid]", f"{columns}\n[grid]") + POISON
    head, *rows = files["cores.csv"].decode().splitlines()
    lines = [",".join([head, *names])]
    # A plain slope, which no gate refuses.
    lines += [",".join([row, *(str(row.split(",")[1 + at % 2]) for at in range(layers))]) for row in rows]
    return {**files, "plan.toml": plan.encode(), "cores.csv": ("\n".join(lines) + "\n").encode()}


def refused(index):
    """A field whose input cannot be used."""
    files = field(index)
    return {**files, "boundary.geojson": b"no shape"}


def write_farm(fields, folder):
    """Writes fields, by name, as a farm."""
    for name, files in fields.items():
        place = Path(folder) / name
        place.mkdir(parents=True, exist_ok=True)
        for file, content in files.items():
            (place / file).write_bytes(content)
    (Path(folder) / "farm.toml").write_text('# invented\nfarm = "Invented small fields"\nfields = ["*/plan.toml"]\n')


def table(fields):
    """The same as a table of fields."""
    import pyarrow

    kinds = {"field_id": pyarrow.string(), "plan": pyarrow.string(), "files": pyarrow.map_(pyarrow.string(), pyarrow.binary())}
    columns = {
        "field_id": list(fields),
        "plan": [files["plan.toml"].decode() for files in fields.values()],
        "files": [[pair for pair in files.items() if pair[0] != "plan.toml"] for files in fields.values()],
    }
    return pyarrow.table({name: pyarrow.array(columns[name], kind) for name, kind in kinds.items()})


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--fields", type=int, required=True)
    arguments.add_argument("--out", type=Path, required=True)
    given = arguments.parse_args()
    write_farm({field_id(index): field(index) for index in range(given.fields)}, given.out)


if __name__ == "__main__":
    main()
