"""The table of zones: its schema, what GeoParquet says of it, and several of them as one."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Union

from . import _lowstave

if TYPE_CHECKING:
    import pyarrow

_SIDES = (("xmin", min), ("ymin", min), ("xmax", max), ("ymax", max))


def zones_schema() -> pyarrow.Schema:
    """The schema of the table of zones."""
    return _lowstave.failed_batch([], "").schema


def joined(batches: list[pyarrow.RecordBatch]) -> pyarrow.Table:
    """Zones of several calls as one table; the metadata says where all shapes lie."""
    import pyarrow

    if len(batches) == 1:
        return pyarrow.Table.from_batches(batches)
    table = pyarrow.Table.from_batches([batch.replace_schema_metadata() for batch in batches]).combine_chunks()
    box = box_of(table["bbox"]) if table.num_rows else None
    return table.replace_schema_metadata(geo_metadata(box))


def geo_metadata(box: Union[list[float], None]) -> dict[bytes, bytes]:
    """What GeoParquet says of the column of shapes, with the box of all of them."""
    told: dict[str, Any] = json.loads(zones_schema().metadata[b"geo"])
    if box:
        told["columns"]["geometry"]["bbox"] = box
    return {b"geo": json.dumps(told).encode()}


def box_of(boxes) -> Union[list[float], None]:
    """West, south, east and north of a column of boxes."""
    from pyarrow import compute

    sides = []
    for at, (_, least_or_most) in enumerate(_SIDES):
        ends = compute.min_max(compute.struct_field(boxes, at)).as_py()
        sides.append(ends["min" if least_or_most is min else "max"])
    return None if None in sides else sides


def joined_box(one: list[float], other: Union[list[float], None]) -> list[float]:
    """The box of two boxes."""
    if other is None:
        return one
    return [take(a, b) for (_, take), a, b in zip(_SIDES, one, other)]
