#!/usr/bin/env bash
# Sets up .venv and runs the main job on the invented property beside this file: from a weather file to the week's
# table. Tables go to stdout, remarks to stderr, files to demo/out/. Works from any directory.
set -euo pipefail
source "$(dirname -- "${BASH_SOURCE[0]}")/../.ci/venv.sh"
set_up ""

site=demo/site.toml weather=demo/weather.csv today=2026-07-13 out=demo/out
mkdir -p "$out"

step() {
    say "" "# $1"
    shift
    say "\$ $*" ""
    "$@"
}

step "Is the description of the property sound? The manager mends what this names before trusting any minutes." \
    etsched check site "$site"
step "The week's table: the manager types these nights, start times, cycles and soaks into the controller." \
    etsched week "$site" "$weather" --today "$today"
step "The same as CSV: for the manager's spreadsheet." \
    etsched week "$site" "$weather" --today "$today" --csv "$out/week.csv"
step "The same as JSON: for another program." \
    etsched week "$site" "$weather" --today "$today" --json "$out/week.json"
step "The same as a page: to print and pin up beside the controller." \
    etsched week "$site" "$weather" --today "$today" --html "$out/week.html"
step "Why does station 7 run that long? The manager follows each number to its source, and sees which to measure." \
    etsched why "$site" "$weather" 7 --today "$today"

step "The same week from the site's own feeds, played on this machine: what each said, what was filled, whose data." \
    python demo/with_feeds.py week "$site"
step "The fortnight's weather as a picture." \
    python demo/with_feeds.py weather chart "$site" --svg "$out/weather.svg"

say "" "Written: $out/week.csv, $out/week.json, $out/week.html, $out/weather.svg"
tell_skipped </dev/null
