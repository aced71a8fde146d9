# `make run` shows the main job on the invented field, `make test` passes every test. Both first install what is missing, and share one
# profile, so that PROJ and all crates are built once for both.

SAMPLE ?= samples/alder-flat/plan.toml
OUT    ?= out/alder-flat

.PHONY: help prepare build run test test-cluster wheel quick lint check notices bench install

help:
	@echo "make run      build, and run the main job on $(SAMPLE) into $(OUT)"
	@echo "make test     pass every test; a reader or browser that a test needs is installed, not passed over"
	@echo "make test-cluster  the Python module, Spark and Dask, with workers ended in the middle"
	@echo "make wheel    build the Python module for release into target/wheels"
	@echo "make quick    unit and stage tests, while you work"
	@echo "make build    build the release program: target/release/lowstave"
	@echo "make lint     formatting, clippy and documentation, warnings as errors"
	@echo "make check    all of .ci/run, as it must pass before a change goes in"
	@echo "make notices  write THIRD-PARTY.md anew, after a change of Cargo.lock"
	@echo "make bench    criterion benches (see benches/README.md)"
	@echo "make install  install the program for this user (cargo install)"
	@echo "make prepare  install what the build needs and this machine lacks: cmake, sqlite3"

prepare:
	@sh scripts/prepare.sh build

build: prepare
	cargo build --release --locked

# Exit code 1 of the program means: done, but somebody should look at the remarks.
run: prepare
	@mkdir -p "$(dir $(OUT))"
	cargo build --locked
	@cargo run --locked --quiet -- plan "$(SAMPLE)" --out "$(OUT)" || [ $$? -eq 1 ]
	@echo
	@echo "The report is in $(OUT)/report.txt"
	@if [ -f "$(OUT)/report.html" ]; then echo "With maps, for a browser: $(OUT)/report.html"; fi

# A tool that is missing fails a test instead of leaving something uncompared.
test:
	@sh scripts/prepare.sh build test
	LOWSTAVE_REQUIRE_TOOLS=1 cargo test --locked --no-fail-fast

# The module and the program in the profile of the other tests, so that PROJ is not built again.
test-cluster:
	@sh scripts/prepare.sh build cluster
	sh scripts/test_cluster.sh

wheel:
	@sh scripts/prepare.sh build cluster
	target/tools/cluster/bin/maturin build --release --locked --manifest-path python/Cargo.toml --out target/wheels

quick:
	cargo test --locked --quiet --lib --test stages --test architecture

lint: prepare
	cargo fmt --all --check
	cargo clippy --locked --all-targets -- -D warnings
	RUSTDOCFLAGS="-D warnings" cargo doc --locked --no-deps

check:
	.ci/run

notices:
	python3 scripts/third_party.py

bench: prepare
	cargo bench --locked

install: prepare
	cargo install --locked --path .
