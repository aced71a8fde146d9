# `make run` shows the main job on the invented field, `make test` passes every test. Both first install what is missing.

SAMPLE ?= samples/alder-flat/plan.toml
OUT    ?= out/alder-flat

.PHONY: help prepare build run test lint bench install

help:
	@echo "make run      build, and run the main job on $(SAMPLE) into $(OUT)"
	@echo "make test     pass every test"
	@echo "make build    build the release program: target/release/lowstave"
	@echo "make lint     formatting, clippy and documentation, warnings as errors"
	@echo "make bench    criterion benches (see benches/README.md)"
	@echo "make install  install the program for this user (cargo install)"
	@echo "make prepare  install what the build needs and this machine lacks: cmake, sqlite3"

prepare:
	@sh scripts/prepare.sh

build: prepare
	cargo build --release --locked

# Exit code 1 of the program means: done, but somebody should look at the remarks.
run: build
	@mkdir -p "$(dir $(OUT))"
	@cargo run --release --locked --quiet -- plan "$(SAMPLE)" --out "$(OUT)" || [ $$? -eq 1 ]
	@echo
	@echo "The report is in $(OUT)/report.txt"
	@if [ -f "$(OUT)/report.html" ]; then echo "With maps, for a browser: $(OUT)/report.html"; fi

test: prepare
	cargo test --locked --no-fail-fast

lint: prepare
	cargo fmt --all --check
	cargo clippy --locked --all-targets -- -D warnings
	RUSTDOCFLAGS="-D warnings" cargo doc --locked --no-deps

bench: prepare
	cargo bench --locked

install: prepare
	cargo install --locked --path .
