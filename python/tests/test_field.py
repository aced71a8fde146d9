import json
import pickle
import subprocess
from pathlib import Path

import pytest
from comparing import PROGRAM

import lowstave

SAMPLE = Path(__file__).parents[2] / "samples/alder-flat"


def sample_files():
    return {path.relative_to(SAMPLE).as_posix(): path.read_bytes() for path in SAMPLE.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def of_program(tmp_path_factory):
    """What the command writes of the sample."""
    out = tmp_path_factory.mktemp("program") / "out"
    done = subprocess.run([PROGRAM, "plan", SAMPLE / "plan.toml", "--out", out], capture_output=True, check=False)
    assert done.returncode in (0, 1), done.stderr
    return done.returncode, {path.relative_to(out).as_posix(): path.read_bytes() for path in out.rglob("*") if path.is_file()}


def without_times(record):
    record = json.loads(record)
    return {key: value for key, value in record.items() if key not in ("timings", "checksum")}


def test_files_from_memory_are_those_that_the_command_writes(of_program):
    code, files = of_program
    result = lowstave.plan(sample_files(), files_wanted="all")
    assert result.code == code
    assert sorted(result.files) == sorted(files)
    for name, content in result.files.items():
        if name == "run.json":
            assert without_times(content) == without_times(files[name])
        else:
            assert content == files[name], name


def test_zones_and_table_are_those_of_the_map(of_program):
    _, files = of_program
    features = json.loads(files["prescription.geojson"])["features"]
    result = lowstave.plan(SAMPLE)
    assert result.files == {}
    assert result.zones == features
    table = result.table
    assert table["zone"].to_pylist() == [feature["properties"]["zone"] for feature in features]
    rates = [dict(row) for row in table["rates"].to_pylist()]
    for feature, own in zip(features, rates):
        assert own and all(feature["properties"][name] == number for name, number in own.items())


def test_the_shapes_of_the_table_are_those_of_the_map():
    from shapely import from_wkb
    from shapely.geometry import shape

    result = lowstave.plan(SAMPLE / "plan.toml")
    for feature, known in zip(result.zones, result.table["geometry"].to_pylist()):
        assert from_wkb(known).equals_exact(shape(feature["geometry"]), 0)


def test_rates_are_fewer_files_than_all():
    files = lowstave.plan(sample_files(), files_wanted="rates").files
    assert "prescription.geojson" in files and "run.json" in files
    assert any(name.startswith("controller/") for name in files)
    assert not any(name.startswith("layers/") for name in files)


def test_remarks_say_level_place_and_way_out():
    remarks = lowstave.plan(SAMPLE).remarks
    assert {remark.level for remark in remarks} <= {"look", "guess", "note"}
    assert any(remark.way_out for remark in remarks)


def test_what_is_wrong_is_raised_in_the_words_of_the_command(tmp_path):
    files = {**sample_files(), "boundary.geojson": b"no shape"}
    with pytest.raises(lowstave.InputRefused) as raised:
        lowstave.plan(files)
    told = raised.value
    assert told.code == 2 and told.problems[0].file == "boundary.geojson"
    for name, content in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(content)
    done = subprocess.run([PROGRAM, "plan", tmp_path / "plan.toml", "--out", tmp_path / "out"], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    words = " ".join(done.stderr.split())
    assert told.problems[0].what in words, words
    again = pickle.loads(pickle.dumps(told))
    assert str(again) == str(told) and again.problems == told.problems


def test_a_limit_of_memory_is_kept():
    with pytest.raises(lowstave.InputRefused, match="memory"):
        lowstave.plan(SAMPLE, memory="20 MB")
    with pytest.raises(ValueError, match="memory"):
        lowstave.plan(SAMPLE, memory="much")
    with pytest.raises(ValueError, match="none"):
        lowstave.plan(SAMPLE, files_wanted="some")
