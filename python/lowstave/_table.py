from __future__ import annotations

from typing import TYPE_CHECKING, Union

from . import _lowstave
from ._zones import joined, zones_schema

if TYPE_CHECKING:
    import pyarrow

#: Columns of the table of fields.
FIELDS = ("field_id", "plan", "files")


def plan_table(
    fields: Union[pyarrow.Table, pyarrow.RecordBatch],
    *,
    threads: int = 1,
    memory: str | None = None,
    apart: bool = False,
) -> Union[pyarrow.Table, pyarrow.RecordBatch]:
    """Plans a table of fields: one row a field in, one row a zone out, in the order of the fields.

    In: ``field_id`` (text), ``plan`` (the text of the plan file), ``files`` (map of text to bytes: the files that the plan names). Other
    columns are left alone.

    Out: the columns of ``zones.parquet`` of ``lowstave farm`` (shapes as WKB in degrees, ``bbox``, limits, reason, ``rates`` as a map of
    product and unit to number), then ``code`` and ``error``. A field that has no result is one row with its ``field_id``, ``code`` (2: the
    input cannot be used; 3: the program or the machine failed) and ``error`` in the program's words; all else is null. The schema carries
    what GeoParquet needs: ``pyarrow.parquet.write_table`` writes a valid file.

    ``threads``: fields side by side; the interpreter is free meanwhile, and the threads end with the call, so that a process may fork before
    and after. ``memory``: the most that each field may take, such as ``"1 GB"``; a field that would take more is refused.

    ``apart``: works in a process of its own, so that a field which takes its process down (the system ended it for its memory) does
    not take this one along. Where that happens, the other fields are worked on again one by one, and the field is a row with ``code`` 3.
    Costs the start of a process, about 0.2 s a call.

    >>> import lowstave, pyarrow as pa
    >>> fields = pa.table({"field_id": ["north"], "plan": ["field = 'North'"],
    ...     "files": pa.array([[]], pa.map_(pa.string(), pa.binary()))})
    >>> zones = lowstave.plan_table(fields)
    >>> zones["code"].to_pylist(), zones["geometry"].null_count
    ([2], 1)
    """
    import pyarrow

    threads = max(1, threads)
    if isinstance(fields, pyarrow.RecordBatch):
        return _batch(_needed(fields), threads, memory, apart)
    batches = [_batch(batch, threads, memory, apart) for batch in _needed(fields.combine_chunks()).to_batches()]
    return joined(batches) if batches else zones_schema().empty_table()


def _needed(fields):
    names = [name for name in FIELDS if name in fields.schema.names]
    return fields.select(names)


def _batch(batch, threads, memory, apart):
    if apart:
        from ._apart import plan_apart

        return plan_apart(batch, threads, memory)
    return _lowstave.plan_batch(batch, threads, memory)
