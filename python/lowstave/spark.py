"""Fields on Apache Spark: one row a field in, one row a zone out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import pyarrow

from ._table import FIELDS, plan_table
from ._zones import zones_schema

if TYPE_CHECKING:
    from pyspark.sql import DataFrame


def plan(fields: DataFrame, *, memory: str | None = None) -> DataFrame:
    """Plans the fields of a data frame, with the columns in and out of :func:`lowstave.plan_table`.

    Each task works on its fields in the worker's own process. A task that is tried again was cut off: its executor was lost, or one of its
    fields took the process down. So it then works in a process apart, and a field that ends that process is one row with ``code`` 3 and not
    the end of the job.

    Set ``spark.sql.execution.arrow.maxRecordsPerBatch`` to some tens, because rows carry files, and do not ``repartition``: without an
    exchange a lost executor costs its own tasks only. ``memory`` is the most that one field may take, such as ``"1 GB"``.

    Spark does not write the metadata of GeoParquet: write the zones as Parquet, and make one GeoParquet of the folder with
    :func:`lowstave.write_geoparquet`.
    """

    def work(batches: Iterable[pyarrow.RecordBatch]) -> Iterator[pyarrow.RecordBatch]:
        from pyspark import TaskContext

        context = TaskContext.get()
        is_tried_again = context is not None and context.attemptNumber() > 0
        for batch in batches:
            yield plan_table(batch, memory=memory, apart=is_tried_again)

    return fields.select(*FIELDS).mapInArrow(work, schema())


def schema() -> str:
    """The columns of the table of zones in the words of Spark's schemas."""
    return ", ".join(f"{column.name} {_type(column.type)}" for column in zones_schema())


def _type(of: pyarrow.DataType) -> str:
    types = pyarrow.types
    if types.is_map(of):
        return f"map<{_type(of.key_type)}, {_type(of.item_type)}>"
    if types.is_list(of):
        return f"array<{_type(of.value_type)}>"
    if types.is_struct(of):
        return f"struct<{', '.join(f'{part.name}: {_type(part.type)}' for part in of)}>"
    return {"string": "string", "int32": "int", "double": "double", "binary": "binary"}[str(of)]
