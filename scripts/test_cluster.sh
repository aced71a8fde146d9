#!/bin/sh
# Builds the Python module, installs it where nothing else is and beside the engines, and passes its tests and those of tests/cluster.
# `sh scripts/test_cluster.sh -k dask` passes those alone whose name holds the word.
set -eu
cd "$(dirname "$0")/.."
tools=target/tools/cluster/bin
wheels=target/wheels/test
package=target/wheels/package
# Program and module together, from here: so the crates have the features of the other tests, and PROJ is not built again. maturin alone, as
# `make wheel` calls it, chooses fewer features and builds all crates for itself; here it writes what a wheel says of itself.
PYO3_BUILD_EXTENSION_MODULE=1 cargo build --locked -p lowstave -p lowstave-python
rm -rf "$wheels" "$package"
mkdir -p "$wheels" "$package"
"$tools/maturin" pep517 write-dist-info --metadata-directory "$package" --interpreter "$tools/python" --manifest-path python/Cargo.toml >/dev/null
cp -R python/lowstave "$package/lowstave"
rm -rf "$package/lowstave/__pycache__"
cp target/debug/lib_lowstave.so "$package/lowstave/_lowstave.abi3.so"
"$tools/python" -m wheel pack "$package" --dest-dir "$wheels" >/dev/null
"$tools/pip" install -q --disable-pip-version-check --no-deps --force-reinstall "$wheels"/*.whl
export LOWSTAVE_WHEELS="$PWD/$wheels" LOWSTAVE="$PWD/target/debug/lowstave"
exec "$tools/python" -m pytest -q -p no:cacheprovider --durations=5 python/tests tests/cluster "$@"
