"""Zones as rows by field, and the zones that the program finds on one machine."""

import os
import subprocess
from pathlib import Path

import pyarrow.parquet as parquet
import small_fields

PROGRAM = Path(os.environ.get("LOWSTAVE", Path(__file__).parents[2] / "target/debug/lowstave"))


def rows_by_field(table):
    """The rows of each field, in the order of its zones."""
    rows = {}
    for row in table.to_pylist():
        rows.setdefault(row["field_id"], []).append(row)
    for name, own in rows.items():
        # Two workers that both wrote a field would show here.
        zones = [(row["zone"], row["strip"]) for row in own]
        assert len(set(zones)) == len(zones), f"{name} stands there twice: {zones}"
        own.sort(key=lambda row: (row["zone"] or 0, row["strip"] or ""))
    return rows


def farm_zones(fields, folder):
    """The zones of the same fields by the command `farm`."""
    small_fields.write_farm(fields, folder)
    out = folder.with_name(folder.name + "-out")
    done = subprocess.run([PROGRAM, "farm", folder, "--out", out], capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1), done.stderr
    return rows_by_field(parquet.read_table(out / "zones.parquet"))
