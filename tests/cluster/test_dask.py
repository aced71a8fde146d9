"""The ten lines of docs/how-it-scales.md on Dask, with a worker ended in the middle."""

import os
import re
import signal
import threading
import time
from pathlib import Path

import pyarrow.parquet as parquet
import small_fields
from comparing import farm_zones, rows_by_field

import lowstave

FIELDS, FIELDS_A_FILE = 120, 10
DOCUMENT = Path(__file__).parents[2] / "docs/how-it-scales.md"


def lines_of_document():
    """The code under the heading on Dask."""
    chapter = DOCUMENT.read_text(encoding="utf-8").split("\n## Dask", 1)[1]
    code = re.search(r"```python\n(.*?)```", chapter, re.DOTALL).group(1)
    assert len([line for line in code.splitlines() if line.strip()]) <= 12
    return code


class WorkerEnds(threading.Thread):
    """Ends one of Dask's worker processes as soon as some parts are done."""

    def __init__(self, zones):
        super().__init__(daemon=True)
        self.zones, self.ended = zones, None

    def run(self):
        import psutil

        while self.ended is None:
            if len(list(self.zones.glob("*.parquet"))) >= 2:
                children = psutil.Process().children(recursive=True)
                workers = [child for child in children if "spawn_main" in " ".join(child.cmdline())]
                if workers:
                    self.ended = workers[0].pid
                    os.kill(self.ended, signal.SIGKILL)
            time.sleep(0.02)


def test_a_lost_worker_leaves_the_fields_as_on_one_machine(tmp_path, monkeypatch):
    fields = {small_fields.field_id(index): small_fields.field(index) for index in range(FIELDS)}
    of_farm = farm_zones(fields, tmp_path / "farm")
    table = small_fields.table({**fields, "f00004": small_fields.refused(4)})
    (tmp_path / "fields").mkdir()
    (tmp_path / "zones").mkdir()
    for start in range(0, FIELDS, FIELDS_A_FILE):
        parquet.write_table(table.slice(start, FIELDS_A_FILE), tmp_path / f"fields/{start:04d}.parquet")
    del of_farm["f00004"]
    monkeypatch.chdir(tmp_path)
    ends = WorkerEnds(tmp_path / "zones")
    ends.start()
    exec(compile(lines_of_document(), str(DOCUMENT), "exec"), {"__name__": "__main__"})
    assert ends.ended, "no worker was ended: nothing was tried"
    found = rows_by_field(parquet.read_table(tmp_path / "zones.parquet"))
    assert [row["code"] for row in found.pop("f00004")] == [2]
    assert sorted(found) == sorted(of_farm)
    for name, rows in of_farm.items():
        own = [{key: value for key, value in row.items() if key not in ("code", "error")} for row in found[name]]
        assert own == rows, name
    assert lowstave.zones_schema().names == parquet.read_schema(tmp_path / "zones.parquet").names
