#!/usr/bin/env bash
# Times the whole `plan` command, and any other commands given as arguments, in turn on this machine; then peak memory of each.
#
#   [PLAN=samples/open-field/plan.toml] [RUNS=5] benches/compare.sh ['other command' ...]
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
plan=${PLAN:-samples/open-field/plan.toml} runs=${RUNS:-5}
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT

cargo build --release --locked --quiet
program=${CARGO_TARGET_DIR:-target}/release/lowstave
commands=("$program plan $plan --out $out/lowstave --quiet" "$@")

# Exit code 1 of lowstave means: done, with remarks that somebody should look at.
run() { bash -c "$1" >/dev/null 2>"$out/stderr" || [ $? -eq 1 ] || { cat "$out/stderr" >&2; echo "failed: $1" >&2; exit 1; }; }

for command in "${commands[@]}"; do run "$command"; done
if command -v hyperfine >/dev/null; then
    hyperfine --warmup 1 --runs "$runs" --ignore-failure "${commands[@]}"
else
    for ((i = 1; i <= runs; i++)); do
        for command in "${commands[@]}"; do
            start=$(date +%s%N)
            run "$command"
            printf 'run %d  %9.3f s  %s\n' "$i" "$(awk -v a="$start" -v b="$(date +%s%N)" 'BEGIN { print (b - a) / 1e9 }')" "$command"
        done
    done
fi
if [ -x /usr/bin/time ]; then
    for command in "${commands[@]}"; do
        /usr/bin/time -f '%M' -o "$out/peak" bash -c "exec $command" >/dev/null 2>&1 || true
        printf 'peak  %6.1f MiB  %s\n' "$(awk 'END { print $1 / 1024 }' "$out/peak")" "$command"
    done
else
    echo "peak memory: not measured, GNU time is not installed (apt-get install time)"
fi
