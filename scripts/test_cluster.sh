#!/bin/sh
# Builds the Python module, installs it where nothing else is and beside the engines, and passes its tests and those of tests/cluster.
# `sh scripts/test_cluster.sh -k dask` passes those alone whose name holds the word.
set -eu
cd "$(dirname "$0")/.."
tools=target/tools/cluster
wheels=target/wheels/test
cargo build --locked
rm -rf "$wheels"
"$tools/bin/maturin" build --profile dev --locked --manifest-path python/Cargo.toml --out "$wheels"
"$tools/bin/pip" install -q --disable-pip-version-check --no-deps --force-reinstall "$wheels"/*.whl
LOWSTAVE_WHEELS=$PWD/$wheels LOWSTAVE=$PWD/target/debug/lowstave exec "$tools/bin/python" -m pytest -q -p no:cacheprovider --durations=5 python/tests tests/cluster "$@"
