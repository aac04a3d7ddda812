#!/usr/bin/env bash
# Sets up .venv and runs every test: lint, types, import contract, pytest. Works from any directory.
#
#   bash tests/run.sh                    everything that needs no long time
#   bash tests/run.sh --campaign         the long campaigns too
#   bash tests/run.sh tests/core -k rain any other words go to pytest
#
# The stores are tested on SQLite and on PostgreSQL, on a server started for the run where its programs are here (see
# .ci/postgresql.sh); the pages in Chromium, PDFs with Pango (see .ci/pages.sh).
# ETSCHED_PYTHON=/path/to/python names the Python to use. Ends with 0 only if every step passed.
set -euo pipefail
source "$(dirname -- "${BASH_SOURCE[0]}")/../.ci/venv.sh"
source .ci/postgresql.sh
source .ci/pages.sh
set_up test

report=$(mktemp)
trap 'rm -f -- "$report"; stop_postgresql' EXIT
find_postgresql
find_chromium
find_pango
failed=()

step() {
    local name=$1
    shift
    say "" "== $name: $*"
    "$@" || failed+=("$name")
}

# A campaign may take hours; any other test that takes ten minutes hangs.
[[ " $* " != *" --campaign "* ]] || set -- -o faulthandler_timeout=0 "$@"

suite() { python -m pytest -n 2 --dist loadfile --max-worker-restart 0 "$@" | tee "$report"; }

step lint ruff check etsched tests demo .ci
step types mypy
step imports lint-imports
step tests suite "$@"

sed -n 's/^SKIPPED //p' "$report" | tell_skipped
if [ "${#failed[@]}" -gt 0 ]; then
    say "Failed: ${failed[*]}."
    exit 1
fi
say "All passed: lint, types, imports, tests."
