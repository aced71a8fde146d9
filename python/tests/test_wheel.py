import ast
import doctest
import importlib
import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest

import lowstave

ROOT = Path(__file__).parents[2]
WHEELS = os.environ.get("LOWSTAVE_WHEELS")


@pytest.mark.skipif(not WHEELS, reason="no wheel was built: make test-cluster builds one")
def test_the_wheel_works_where_nothing_else_is_installed(tmp_path):
    [wheel] = Path(WHEELS).glob("*.whl")
    assert "abi3" in wheel.name
    venv.create(tmp_path / "clean", with_pip=True)
    python = tmp_path / "clean/bin/python"
    subprocess.run([python, "-m", "pip", "install", "-q", "--no-index", "--disable-pip-version-check", wheel], check=True)
    program = (
        "import importlib.util, json, sys, lowstave\n"
        "assert importlib.util.find_spec('pyarrow') is None\n"
        "result = lowstave.plan(sys.argv[1], files_wanted='rates')\n"
        "print(json.dumps([result.code, len(result.zones), sorted(result.files)]))"
    )
    sample = ROOT / "samples/alder-flat"
    done = subprocess.run([python, "-I", "-c", program, sample], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert '"prescription.geojson"' in done.stdout and '"run.json"' in done.stdout
    # Types come with it.
    package = next((tmp_path / "clean").rglob("lowstave/__init__.py")).parent
    assert (package / "py.typed").exists() and (package / "_lowstave.pyi").exists()


@pytest.mark.parametrize("name", ["_field", "_table", "_geoparquet"])
def test_examples_of_the_documentation_hold(name):
    module = importlib.import_module(f"lowstave.{name}")
    found = doctest.testmod(module, optionflags=doctest.ELLIPSIS)
    assert found.attempted > 0 and found.failed == 0


def test_the_stub_names_what_the_module_has():
    native = importlib.import_module("lowstave._lowstave")
    stub = (Path(lowstave.__file__).parent / "_lowstave.pyi").read_text()
    has = {name for name in dir(native) if not name.startswith("__")}
    assert has == {line.split("(")[0].removeprefix("def ") for line in stub.splitlines() if line.startswith("def ")}


def test_no_two_modules_import_each_other_in_a_circle():
    imports = {}
    for path in Path(lowstave.__file__).parent.glob("*.py"):
        nodes = ast.walk(ast.parse(path.read_text()))
        imports[path.stem] = {node.module for node in nodes if isinstance(node, ast.ImportFrom) and node.level == 1 and node.module}
    assert "_zones" in imports["_table"]

    def reached(name, seen):
        for other in imports.get(name, set()) - seen:
            seen.add(other)
            reached(other, seen)
        return seen

    assert [name for name in imports if name in reached(name, set())] == []


def test_the_version_is_that_of_the_program():
    from comparing import PROGRAM

    told = subprocess.run([PROGRAM, "--version"], capture_output=True, text=True, check=True).stdout
    assert lowstave.__version__ in told
    assert sys.version_info >= (3, 9)
