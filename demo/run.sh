#!/usr/bin/env bash
# Sets up .venv and runs the main job on the invented property beside this file: from a weather file to the week's
# table, then two visits a fortnight apart. Tables go to stdout, remarks to stderr, files to demo/out/. Works from any
# directory.
set -euo pipefail
source "$(dirname -- "${BASH_SOURCE[0]}")/../.ci/venv.sh"
set_up ""

site=demo/site.toml weather=demo/weather.csv today=2026-07-13 out=demo/out
first=demo/visit-1.toml second=demo/visit-2.toml later=demo/weather-later.csv then=2026-07-27
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
    etsched why "$site" 7 "$weather" --today "$today"

step "The same week from the site's own feeds, played on this machine: what each said, what was filled, whose data." \
    python demo/with_feeds.py week "$site"
step "The fortnight's weather as a picture." \
    python demo/with_feeds.py weather chart "$site" --svg "$out/weather.svg"

step "The first visit: can its record be used? The technician mends what this names while still on site." \
    etsched check visit "$site" "$first" --today "$today"
step "What it comes to: clock, wiring, causes, repairs by worth, rewetting, dates. The page is for the customer." \
    etsched visit "$site" "$first" "$weather" --today "$today" --html "$out/visit-1.html" --json "$out/visit-1.json"
step "The week with its findings: measured figures in, the dead station out. This table is keyed in." \
    etsched week "$site" "$weather" --today "$today" --visit "$first" --json "$out/visit-1-week.json"
step "The same week for an ordinary clock, and what to change in it since the visit found it: keyed in from the page." \
    etsched clock "$site" "$weather" --today "$today" --found "$first" --html "$out/clock.html"
step "A fortnight on, the second visit: can its record be used?" \
    etsched check visit "$site" "$second" --today "$then"
step "Did the plan hold? The controller's log and new cores prove one area and refute another." \
    etsched visit "$site" "$second" "$later" --today "$then" --visit "$first" --after "$out/visit-1-week.json" \
    --ran demo/ran.csv --html "$out/visit-2.html" --json "$out/visit-2.json"

step "A night by the service: it plans, a controller runs the table and reports, here in a minute." \
    python demo/serve.py --fresh --port 8479 --speed 500 --then python demo/controller.py --fresh --state "$out/controller.json"

say "" "Written: $out/week.csv, $out/week.json, $out/week.html, $out/clock.html, $out/weather.svg" \
    "$out/visit-1.html, $out/visit-1.json, $out/visit-1-week.json, $out/visit-2.html, $out/visit-2.json"
tell_skipped </dev/null
