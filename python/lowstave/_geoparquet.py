from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, Union

if TYPE_CHECKING:
    import pyarrow

_SIDES = (("xmin", min), ("ymin", min), ("xmax", max), ("ymax", max))


def write_geoparquet(zones: Union[pyarrow.Table, str, os.PathLike[str]], path: Union[str, os.PathLike[str]]) -> None:
    """Writes zones as one GeoParquet 1.1 file.

    ``zones``: the table of :func:`lowstave.plan_table`, or the folder of Parquet files that Spark or Dask wrote of it. A folder is read piece
    by piece. The file is written beside and renamed: it is complete or not there.

    >>> import lowstave, tempfile, os
    >>> lowstave.write_geoparquet(lowstave.zones_schema().empty_table(), os.path.join(tempfile.mkdtemp(), "zones.parquet"))
    """
    import pyarrow
    from pyarrow import dataset, parquet

    is_table = isinstance(zones, pyarrow.Table)
    source = dataset.dataset(zones) if is_table else dataset.dataset(os.fspath(zones), format="parquet")
    schema = source.schema.with_metadata(geo_metadata(_whole_box(source)))
    path = Path(path)
    draft = path.with_name(f".{path.name}.{os.getpid()}.draft")
    try:
        with parquet.ParquetWriter(draft, schema, compression="zstd") as writer:
            for batch in source.to_batches():
                writer.write_batch(batch.replace_schema_metadata(schema.metadata))
        os.replace(draft, path)
    finally:
        draft.unlink(missing_ok=True)


def geo_metadata(box: Union[list[float], None]) -> dict[bytes, bytes]:
    """What GeoParquet says of the column of shapes, with the box of all of them."""
    from ._table import zones_schema

    told: dict[str, Any] = json.loads(zones_schema().metadata[b"geo"])
    if box:
        told["columns"]["geometry"]["bbox"] = box
    return {b"geo": json.dumps(told).encode()}


def _whole_box(source) -> Union[list[float], None]:
    """West, south, east and north of all rows that have a shape."""
    whole: Union[list[float], None] = None
    for batch in source.to_batches(columns=["bbox"]):
        own = box_of(batch.column("bbox"))
        whole = own if whole is None else joined(whole, own)
    return whole


def box_of(boxes) -> Union[list[float], None]:
    """West, south, east and north of a column of boxes."""
    from pyarrow import compute

    sides = []
    for at, (_, least_or_most) in enumerate(_SIDES):
        ends = compute.min_max(compute.struct_field(boxes, at)).as_py()
        sides.append(ends["min" if least_or_most is min else "max"])
    return None if None in sides else sides


def joined(one: list[float], other: Union[list[float], None]) -> list[float]:
    """The box of two boxes."""
    if other is None:
        return one
    return [take(a, b) for (_, take), a, b in zip(_SIDES, one, other)]
