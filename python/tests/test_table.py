import json
import multiprocessing
import os
import resource
import subprocess
import sys

import pyarrow as pa
import pyarrow.parquet as parquet
import pytest
from comparing import farm_zones, rows_by_field

import lowstave

COUNT = 8


@pytest.fixture
def fields(small):
    return {small.field_id(index): small.field(index) for index in range(COUNT)}


def bare(rows):
    return [{key: value for key, value in row.items() if key not in ("code", "error")} for row in rows]


def test_columns_types_and_rows_are_those_of_the_farm(fields, small, tmp_path):
    zones = lowstave.plan_table(small.table(fields))
    of_farm = farm_zones(fields, tmp_path / "farm")
    found = rows_by_field(zones)
    assert list(found) == list(fields)
    assert {name: bare(rows) for name, rows in found.items()} == of_farm
    written = parquet.read_schema(tmp_path / "farm-out/zones.parquet")
    assert zones.schema.names == [*written.names, "code", "error"]
    for column in written:
        # Parquet's map tells the name of its column, and its list calls the parts otherwise.
        of_farm = str(column.type).replace(" not null", "").replace(f" ('{column.name}')", "").replace("element", "item")
        assert str(zones.schema.field(column.name).type) == of_farm, column


def test_any_number_of_threads_gives_the_same_rows(fields, small):
    table = small.table(fields)
    one = lowstave.plan_table(table)
    for threads in (2, 4):
        assert lowstave.plan_table(table, threads=threads).equals(one)
    assert lowstave.plan_table(table, apart=True).equals(one)


def test_texts_and_bytes_in_any_form_of_arrow_are_taken(fields, small):
    table = small.table(fields).slice(0, 2)
    known = lowstave.plan_table(table)
    for text, content in ((pa.large_string(), pa.large_binary()), (pa.string_view(), pa.binary_view())):
        files = [list(row) for row in table["files"].to_pylist()]
        other = pa.table(
            {
                "plan": pa.array(table["plan"].to_pylist(), text),
                "field_id": pa.array(table["field_id"].to_pylist(), text),
                "files": pa.array(files, pa.map_(text, content)),
                "more": [1, 2],
            }
        )
        assert lowstave.plan_table(other).equals(known)
    batch = lowstave.plan_table(table.combine_chunks().to_batches()[0])
    assert isinstance(batch, pa.RecordBatch) and batch.num_rows == known.num_rows
    cut = pa.concat_tables([table.slice(0, 1), table.slice(1, 1)])
    assert lowstave.plan_table(cut).equals(known)


def test_fields_without_a_result_are_rows(fields, small):
    fields["f00003"] = small.refused(3)
    table = small.table(fields)
    plans = table["plan"].to_pylist()
    plans[5] = None
    table = table.set_column(1, "plan", pa.array(plans, pa.string()))
    rows = rows_by_field(lowstave.plan_table(table, threads=2))
    assert list(rows) == list(fields)
    told = {name: row for name, own in rows.items() for row in own if row["code"] >= 2}
    assert sorted(told) == ["f00003", "f00005"]
    assert "boundary.geojson" in told["f00003"]["error"] and "no plan" in told["f00005"]["error"]
    for row in told.values():
        assert {value for key, value in row.items() if key not in ("field_id", "code", "error")} == {None}


def test_a_table_that_is_no_table_of_fields_is_refused():
    with pytest.raises(ValueError, match="no column plan"):
        lowstave.plan_table(pa.table({"field_id": ["a"]}))
    wrong = pa.table({"field_id": ["a"], "plan": ["x"], "files": ["x"]})
    with pytest.raises(ValueError, match="map of names to bytes"):
        lowstave.plan_table(wrong)
    with pytest.raises(ValueError, match="has to be text"):
        lowstave.plan_table(wrong.set_column(0, "field_id", pa.array([1])))
    empty = lowstave.plan_table(wrong.slice(0, 0).set_column(2, "files", pa.array([], pa.map_(pa.string(), pa.binary()))))
    assert empty.num_rows == 0 and empty.schema.equals(lowstave.zones_schema())


def test_geopandas_reads_what_is_written(fields, small, tmp_path):
    import geopandas

    fields["f00003"] = small.refused(3)
    table = small.table(fields)
    zones = lowstave.plan_table(table)
    parquet.write_table(zones, tmp_path / "direct.parquet")
    (tmp_path / "parts").mkdir()
    for number, start in enumerate(range(0, COUNT, 3)):
        part = lowstave.plan_table(table.slice(start, 3)).replace_schema_metadata()
        parquet.write_table(part, tmp_path / f"parts/{number}.parquet")
    lowstave.write_geoparquet(tmp_path / "parts", tmp_path / "joined.parquet")
    lowstave.write_geoparquet(zones, tmp_path / "table.parquet")
    whole = json.loads(zones.schema.metadata[b"geo"])["columns"]["geometry"]["bbox"]
    for name in ("direct", "joined", "table"):
        read = geopandas.read_parquet(tmp_path / f"{name}.parquet")
        assert len(read) == zones.num_rows and read.crs == "OGC:CRS84"
        shapes = read.geometry[read.geometry.notna()]
        assert len(shapes) == zones.num_rows - 1 and shapes.is_valid.all() and not shapes.is_empty.any()
        told = json.loads(parquet.read_schema(tmp_path / f"{name}.parquet").metadata[b"geo"])
        assert told["columns"]["geometry"]["bbox"] == whole
        assert whole == pytest.approx(list(shapes.total_bounds))
    assert [path.name for path in tmp_path.iterdir() if "draft" in path.name] == []


def plan_in_child(table, answers):
    answers.put(lowstave.plan_table(table).num_rows)


@pytest.mark.parametrize("start", ["fork", "spawn", "forkserver"])
def test_a_process_may_fork_after_it_has_worked(start, fields, small):
    table = small.table(fields).slice(0, 2)
    known = lowstave.plan_table(table, threads=2).num_rows
    context = multiprocessing.get_context(start)
    answers = context.Queue()
    child = context.Process(target=plan_in_child, args=(table, answers))
    child.start()
    try:
        assert answers.get(timeout=25) == known
    finally:
        child.join(5)
        if child.is_alive():
            child.kill()


def test_others_run_while_fields_are_worked_on(fields, small):
    """A loop of the interpreter gets on while a call works."""
    import threading

    table = small.table(fields)
    done = threading.Event()
    worker = threading.Thread(target=lambda: (lowstave.plan_table(table), done.set()))
    worker.start()
    turns = 0
    while not done.wait(0.001):
        turns += 1
    worker.join()
    assert turns > 10


POISONED = """
import json, resource, sys
sys.path.insert(0, {folder!r})
resource.setrlimit(resource.RLIMIT_AS, ({bytes}, {bytes}))
import lowstave, small_fields
fields = {{small_fields.field_id(index): small_fields.field(index) for index in range(3)}}
fields["poison"] = small_fields.poisoned(7, layers=30)
zones = lowstave.plan_table(small_fields.table(fields), apart={apart})
print(json.dumps([[row["field_id"], row["code"], row["error"]] for row in zones.to_pylist()]))
"""


def poisoned(apart):
    import small_fields

    # A sound field's process takes 1.7 GB of addresses on two cores (hardly 0.14 GB of memory), and more where there are more cores.
    program = POISONED.format(folder=os.path.dirname(small_fields.__file__), bytes=4_000_000_000, apart=apart)
    return subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, timeout=120)


def test_a_field_that_takes_its_process_down_is_a_row_where_it_works_apart():
    assert resource.getrlimit(resource.RLIMIT_AS)[0] == resource.RLIM_INFINITY
    here = poisoned(False)
    assert here.returncode < 0, "the field did not take its process down: nothing is tried"
    done = poisoned(True)
    assert done.returncode == 0, done.stderr
    rows = json.loads(done.stdout)
    assert {name for name, code, _ in rows if code < 2} == {"f00000", "f00001", "f00002"}, rows
    assert [(name, code) for name, code, _ in rows if code >= 2] == [("poison", 3)]
    assert "ended by the signal SIGABRT" in rows[-1][2]
