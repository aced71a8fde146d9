"""Two thousand invented fields on a standalone cluster of Spark with two worker processes, one of whose executors is ended in the middle."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pyarrow.parquet as parquet
import small_fields
from comparing import farm_zones, rows_by_field
from spark_cluster import Cluster, environment, wait_for

import lowstave

FIELDS = int(os.environ.get("LOWSTAVE_CLUSTER_FIELDS", "2000"))
FIELDS_A_FILE = 50
REFUSED, POISONED = 17, 5_000


def all_fields():
    fields = {small_fields.field_id(index): small_fields.field(index) for index in range(FIELDS)}
    fields[small_fields.field_id(REFUSED)] = small_fields.refused(REFUSED)
    return fields


def write_table(fields, folder):
    table = small_fields.table(fields)
    folder.mkdir()
    for start in range(0, table.num_rows, FIELDS_A_FILE):
        parquet.write_table(table.slice(start, FIELDS_A_FILE), folder / f"fields-{start:06d}.parquet")


def finished_tasks(zones):
    return len(list(zones.glob("_temporary/*/task_*")))


def test_a_lost_executor_and_a_poisoned_field_leave_the_other_fields_as_on_one_machine(tmp_path):
    fields = all_fields()
    of_farm = farm_zones(fields, tmp_path / "farm")
    poison = small_fields.field_id(POISONED)
    write_table({**fields, poison: small_fields.poisoned(POISONED, layers=10)}, tmp_path / "fields")
    zones, log = tmp_path / "zones", tmp_path / "driver.log"
    with Cluster(tmp_path) as cluster, log.open("wb") as written:
        job = [sys.executable, str(Path(__file__).with_name("spark_job.py")), cluster.url, str(tmp_path / "fields"), str(zones)]
        driver = subprocess.Popen(job, env=environment(), stdout=written, stderr=subprocess.STDOUT)
        try:
            wait_for("three tasks are done", lambda: finished_tasks(zones) >= 3, driver)
            executors = cluster.executors()
            assert len(executors) == 2, executors
            os.kill(executors[0], signal.SIGKILL)
            assert driver.wait(1_200) == 0, log.read_text(errors="replace")[-4000:]
        finally:
            if driver.poll() is None:
                driver.kill()
    told = log.read_text(errors="replace")
    assert "Lost executor" in told, "no executor was lost: nothing was tried"
    assert "Python worker exited unexpectedly" in told, "no field took its process down: nothing was tried"

    whole = tmp_path / "zones.parquet"
    lowstave.write_geoparquet(zones, whole)
    found = rows_by_field(parquet.read_table(whole))
    died = found.pop(poison)
    assert [row["code"] for row in died] == [3]
    assert died[0]["geometry"] is None and "ended by the signal" in died[0]["error"], died
    refused = found.pop(small_fields.field_id(REFUSED))
    assert [row["code"] for row in refused] == [2]
    assert "boundary.geojson" in refused[0]["error"]
    assert len(found) == FIELDS - 1
    assert sorted(found) == sorted(of_farm)
    for name, rows in of_farm.items():
        own = [{key: value for key, value in row.items() if key not in ("code", "error")} for row in found[name]]
        assert own == rows, name
