"""Fields in a process of their own. A field that takes its process down is a row, not the end of the others.

The process reads a table of fields as an Arrow stream and writes the table of zones as one; nothing of the caller is copied into it, so that
it does not matter what else runs there.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys

import pyarrow
from pyarrow import ipc

from . import _lowstave
from ._zones import joined


def plan_apart(batch: pyarrow.RecordBatch, threads: int, memory: str | None) -> pyarrow.RecordBatch:
    """A batch in a process of its own; where that ends early, each of its fields in one."""
    zones, end = _in_a_process(batch, threads, memory)
    if zones is not None:
        return zones
    if batch.num_rows == 1:
        return _lowstave.failed_batch(batch.column("field_id").to_pylist(), _why(end))
    alone = [plan_apart(batch.slice(row, 1), 1, memory) for row in range(batch.num_rows)]
    return joined(alone).to_batches()[0]


def _in_a_process(batch, threads, memory):
    sink = pyarrow.BufferOutputStream()
    with ipc.new_stream(sink, batch.schema) as stream:
        stream.write_batch(batch)
    asked = json.dumps({"threads": threads, "memory": memory})
    done = subprocess.run(
        [sys.executable, "-m", "lowstave._apart", asked],
        input=sink.getvalue(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        check=False,
    )
    if done.returncode == _TOLD:
        raise ValueError(done.stderr.decode(errors="replace").strip())
    if done.returncode != 0:
        return None, done.returncode
    with ipc.open_stream(done.stdout) as stream:
        return stream.read_next_batch(), 0


def _why(end: int) -> str:
    """Why a process ended, from its exit code."""
    how = f"with exit code {end}"
    if end < 0:
        try:
            how = f"by the signal {signal.Signals(-end).name}"
        except ValueError:
            how = f"by signal {-end}"
    return (
        f"the process that worked on this field alone ended {how}: it may take more memory than there is; "
        "choose a larger cell under [grid], or give the plan a limit of memory under [limits]"
    )


#: Exit code where the table itself cannot be used.
_TOLD = 65


def _main() -> int:
    asked = json.loads(sys.argv[1])
    with ipc.open_stream(sys.stdin.buffer) as stream:
        batch = stream.read_next_batch()
    try:
        zones = _lowstave.plan_batch(batch, asked["threads"], asked["memory"])
    except ValueError as error:
        print(error, file=sys.stderr)
        return _TOLD
    with ipc.new_stream(sys.stdout.buffer, zones.schema) as stream:
        stream.write_batch(zones)
    sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(_main())
