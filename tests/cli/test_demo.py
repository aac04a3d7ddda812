"""The first of the two commands, as a newcomer runs it; and what the two visits of the demo come to."""

import json
import subprocess

import pytest

from . import called


def test_the_demo_runs_to_its_end(root):
    if not (root / ".venv").exists():
        pytest.skip("the demo runs in .venv; bash tests/run.sh makes it")
    done = subprocess.run(
        ["bash", "demo/run.sh"],
        cwd=root,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    written = {path.name for path in (root / "demo" / "out").iterdir()}
    assert {"week.csv", "week.json", "week.html", "weather.svg"} <= written
    assert {"visit-1.html", "visit-1.json", "visit-1-week.json", "visit-2.html", "visit-2.json"} <= written
    assert done.stdout.count("valves off by") == 6  # the table, beside each document, from the feeds, after the visit
    assert "Station 7, Hall bank" in done.stdout
    assert done.stdout.count("The record can be used.") == 2
    assert "Skipped: nothing." in done.stderr


def etsched(root, *words):
    done = called.etsched(*words, cwd=root)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


SITE, VISIT_1, VISIT_2 = "demo/site.toml", "demo/visit-1.toml", "demo/visit-2.toml"
WEEK_1 = ("demo/weather.csv", "--today", "2026-07-13")
RETURN = (VISIT_2, "demo/weather-later.csv", "--today", "2026-07-27", "--visit", VISIT_1)


@pytest.fixture(scope="module")
def first(root):
    return etsched(root, "visit", SITE, VISIT_1, *WEEK_1, "--json", "-")


@pytest.fixture(scope="module")
def week(root):
    return etsched(root, "week", SITE, *WEEK_1, "--visit", VISIT_1, "--json", "-")


@pytest.fixture(scope="module")
def second(root):
    return etsched(root, "visit", SITE, *RETURN, "--ran", "demo/ran.csv", "--json", "-")


def verdicts(document):
    return {station["terminal"]: station["verdict"] for station in document["proof"]["stations"]}


def supported(document):
    return {
        told["area"]: {cause["name"] for cause in told["causes"] if cause["state"] == "supported"}
        for told in document["causes"]
    }


def test_the_first_visit_finds_what_the_clock_gives(first):
    clock = {row["terminal"]: row for row in first["clock"]["rows"]}
    assert set(clock) == set(range(1, 15))
    told = " ".join(first["clock"]["remarks"])
    for part in ("1 day and 23 minutes behind", "Program A has 2 start times", "rain switch is bypassed"):
        assert part in told
    # Program B has 20 minutes at 80 %, three nights a week: 48 minutes. 1.62 in/h for six runs of 10 minutes.
    assert clock[5]["minutes"]["value"] == pytest.approx(48.0)
    assert clock[1]["depth"]["value"] == pytest.approx(1.62 * 25.4)


def test_the_first_visit_finds_the_dead_terminal_and_the_swapped_ones(first, week):
    chart = {line["terminal"]: line for line in first["chart"]["lines"]}
    assert {t: (chart[t]["area"], chart[t]["plan_number"]) for t in (9, 10)} == {
        9: ("North side of the hall", "E-2"),
        10: ("Under the cedars", "E-1"),
    }
    assert chart[13]["certain"] is False
    assert any("open line" in told for told in first["chart"]["contradictions"])
    assert [row["terminal"] for row in first["findings"]["left_out"]] == [13]
    assert [row["terminal"] for row in first["recovery"]["by_hand"]] == [13]
    assert all(run["terminal"] != 13 for run in week["applied"] if run["minutes"])


def test_the_first_visit_finds_coverage_where_it_fails_and_too_little_time_where_it_does_not(first):
    causes = supported(first)
    assert "uneven coverage" in causes["Great lawn, south"]
    assert causes["Great lawn, north"] == {"too little run time"}
    assert causes["Picnic lawn"] == {"too little run time"}
    assert causes["Courtyard"] == {"the soil repels water"}
    assert causes["Orchard walk"] == {"no water arrives"}
    even = {cups["terminals"][0]: cups["du_lq"]["value"] for cups in first["cups"]}
    assert 0.6 <= even[5] <= 0.7
    assert even[6] < 0.4


def test_the_first_visit_starts_the_books_from_dry_cores_and_keeps_the_lone_one_out(first):
    cores = {station["terminal"]: station for station in first["cores"]["stations"]}
    assert {t: (cores[t]["cores"], cores[t]["used"]) for t in cores} == {5: (3, 3), 6: (4, 3), 11: (3, 3)}
    assert len(cores[6]["local"]) == 1
    # Sandy loam and clay loam, all but dry: more than three quarters of what the roots could hold is gone.
    assert "lacks 8" in cores[5]["sentence"]
    assert "lacks 8" in cores[11]["sentence"]


def test_the_first_visit_asks_for_no_cups_where_they_were_set(first):
    asked = [(told["area"], each["next_test"]) for told in first["causes"] for each in (told, *told["causes"])]
    cups = {area for area, test in asked if "catch cups" in test}
    assert "Picnic lawn" in cups  # nobody set any there
    assert not cups & {"Great lawn, north", "Great lawn, south"}


def test_the_first_visit_lists_all_that_is_to_be_mended_once(first):
    told = [(tuple(row["terminals"]), row["where"], " ".join(row["what"]), row["on"]["day"]) for row in first["mends"]]
    assert [(who, where, day) for who, where, _, day in told] == [
        ((13,), "Orchard walk", "2026-07-24"),
        ((6,), "Great lawn, south", "2026-07-17"),
        ((7,), "Hall bank", "2026-07-17"),
        ((12,), "Parking islands", None),
        ((), "water meter", None),
        ((9, 10), "record of the wiring", None),
        ((), "clock", None),
        ((), "clock", None),
        ((), "clock", None),
        ((), "clock", None),
    ]
    parts = (
        "coil or a splice is open", "1 head (south-west corner) is not popping up", "2 heads (along the lower walk)",
        "split riser", "no station is on", "station 9 waters North side of the hall", "1 day and 23 minutes behind",
        "rain switch off bypass", "4:00 am and 4:00 pm", "from 80% to 100%",
    )  # fmt: skip
    for (_, _, what, _), part in zip(told, parts, strict=True):
        assert part in what
    # Its coil reads open at 26.4 V, so nobody is sent to read them.
    assert "voltage is there (26.4 V; where it was read was not noted)" in told[0][2]
    assert "read the coil" not in told[0][2]


def test_the_first_visit_turns_into_repairs_rewetting_and_dates(first):
    assert [repair["terminal"] for repair in first["repairs"]] == [13, 6, 7]
    rewets = {told["terminal"]: told for told in first["recovery"]["rewets"]}
    assert rewets[5]["nights"]
    assert "2026-07-13" < rewets[5]["reached"]["day"] <= "2026-07-27"
    assert rewets[6]["begins"]["day"] >= "2026-07-17"  # not before its heads are mended
    assert rewets[13]["begins"]["day"] >= "2026-07-24"
    assert rewets[3]["path"] == "repellent"
    # The town's ban ends on 15 August, and no feeding comes before it.
    assert {feed["day"]["day"] for feed in first["recovery"]["feeds"]} == {"2026-08-16"}
    assert first["recovery"]["look_again"]["day"] == "2026-07-28"
    assert first["cautions"]


def test_the_week_is_planned_with_what_the_visit_measured(week):
    runs = [run for night in week["nights"] for run in night["runs"] if run["terminal"] == 5]
    sources = [step["source"] for step in runs[0]["working"]]
    for measured in ("24 cups, visit of Mon Jul 13", "3 cores, visit of Mon Jul 13", "cores read by feel"):
        assert any(measured in source for source in sources)
    assert next(s["area"] for s in week["stations"] if s["terminal"] == 9) == "North side of the hall"


def test_the_second_visit_proves_one_area_and_refutes_another(second):
    assert verdicts(second) == {5: "proved", 11: "refuted"}
    assert second["proof"]["since"]["day"] == "2026-07-13"
    assert "Great lawn, north" in second["proof"]["statement"]
    assert "Picnic lawn" in second["proof"]["statement"]
    (cause,) = next(s["causes"] for s in second["proof"]["stations"] if s["terminal"] == 11)
    assert "Less lands than was measured" in cause["sentence"]


def test_the_second_visit_frees_the_mended_station_and_finds_its_heads_even(second):
    assert second["findings"]["left_out"] == []
    assert {row["terminal"] for row in second["findings"]["rows"] if "waters again" in row["sentence"]} == {13}
    (cups,) = second["cups"]
    assert cups["terminals"] == [6]
    assert cups["du_lq"]["value"] > 0.7
    assert second["repairs"] == []
    assert 13 not in {terminal for row in second["mends"] for terminal in row["terminals"]}
    assert second["chart"]["contradictions"] == []


def test_the_proof_rests_on_what_ran_and_not_on_what_was_planned(root, second, tmp_path):
    """The log holds one cycle of three for station 5 on the night of 25 July; had all run, its cores would refute."""
    log = (root / "demo" / "ran.csv").read_text("utf-8")
    assert "\n2026-07-25,5,33\n" in log
    planned = tmp_path / "planned.csv"
    planned.write_text(log.replace("\n2026-07-25,5,33\n", "\n2026-07-25,5,99\n"), "utf-8")
    as_planned = etsched(root, "visit", SITE, *RETURN, "--ran", planned, "--json", "-")
    assert (verdicts(second)[5], verdicts(as_planned)[5]) == ("proved", "refuted")


def test_last_weeks_document_leads_to_the_same_proof(root, week, second, tmp_path):
    document = tmp_path / "week.json"
    document.write_text(json.dumps(week), "utf-8")
    after = etsched(root, "visit", SITE, *RETURN, "--after", document, "--ran", "demo/ran.csv", "--json", "-")
    assert after["proof"] == second["proof"]
