from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Union

from ._zones import box_of, geo_metadata, joined_box

if TYPE_CHECKING:
    import pyarrow


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


def _whole_box(source) -> Union[list[float], None]:
    """West, south, east and north of all rows that have a shape."""
    whole: Union[list[float], None] = None
    for batch in source.to_batches(columns=["bbox"]):
        own = box_of(batch.column("bbox"))
        whole = own if whole is None else joined_box(whole, own)
    return whole
