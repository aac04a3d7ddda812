#!/usr/bin/env bash
# Sets up .venv and runs every bench in this directory, one process each; stdout holds nothing but lines
#     figure NAME VALUE UNIT
# A bench is a *.py file here (one with a leading underscore is not) that prints such lines, and `skipped REASON` for
# what it could not measure. Words after the command pick benches by name: bash tests/bench/run.sh eto
set -euo pipefail
source "$(dirname -- "${BASH_SOURCE[0]}")/../../.ci/venv.sh"
set_up test

# What is timed is the start as users have it, with compiled modules on disk.
unset PYTHONDONTWRITEBYTECODE
report=$(mktemp)
trap 'rm -f -- "$report"' EXIT
failed=()

for bench in tests/bench/[!_]*.py; do
    name=$(basename -- "$bench" .py)
    if [ "$#" -gt 0 ] && [[ " $* " != *" $name "* ]]; then
        continue
    fi
    say "== $bench"
    code=0
    lines=$(python "$bench") || code=$?
    printf '%s\n' "$lines" >>"$report"
    printf '%s\n' "$lines" | grep '^figure ' || grep -q '^skipped ' <<<"$lines" || code=no-figure
    [ "$code" = 0 ] || failed+=("$name ($code)")
done

[ -s "$report" ] || { say "No bench of that name: $*"; exit 2; }
sed -n 's/^skipped //p' "$report" | tell_skipped
if [ "${#failed[@]}" -gt 0 ]; then
    say "Failed: ${failed[*]}."
    exit 1
fi
