import os
from collections.abc import Sequence

import pyarrow

__version__: str

def plan_field(
    files: Sequence[tuple[str, bytes]],
    folder: str | os.PathLike[str] | None,
    plan: str,
    wanted: tuple[str, bool],
    limits: tuple[int, str | None],
) -> tuple[int, str, bytes | None, pyarrow.RecordBatch | None, dict[str, bytes]]: ...
def plan_batch(fields: pyarrow.RecordBatch, threads: int, memory: str | None) -> pyarrow.RecordBatch: ...
def failed_batch(ids: Sequence[str], why: str) -> pyarrow.RecordBatch: ...
