"""`etsched heat` as a person calls it, on the invented property."""

import json
from collections import Counter

import pytest

from .called import etsched
from .test_commands import SITE, TODAY, WEATHER

VISIT = """
date = "2026-07-13"
site = "Thistledown Grange, Cobble Ferry"
[clock]
rain_switch = "on"
[[program]]
name = "A"
starts = ["22:00", "01:00"]
days = "every day"
minutes = { 1 = 12, 2 = 12, 4 = 10, 7 = 6, 9 = 8, 12 = 10 }
[[program]]
name = "B"
starts = ["03:00"]
days = ["Mon", "Wed", "Fri"]
minutes = { 3 = 30, 5 = 40, 6 = 40, 8 = 20, 10 = 20, 11 = 30, 14 = 30 }
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    place = tmp_path_factory.mktemp("heat")
    done = etsched("week", SITE, WEATHER, *TODAY, "--json", place / "week.json")
    assert done.returncode == 0, done.stderr
    done = etsched("clock", SITE, WEATHER, *TODAY, "--json", place / "clock.json")
    assert done.returncode == 0, done.stderr
    (place / "visit.toml").write_text(VISIT, encoding="utf-8")
    (place / "blind.toml").write_text(VISIT.partition("[clock]")[0], encoding="utf-8")
    return place


def heat(*words):
    return etsched("heat", SITE, WEATHER, *TODAY, *words)


def test_the_week_that_was_keyed_in_against_eight_degrees_more(files):
    done = heat("--table", files / "week.json", "--hotter", "8 F", "--days", "5")
    assert (done.returncode, done.stderr) == (0, "")
    for words in (
        "8 °F hotter than forecast, Tue Jul 14–Sat Jul 18",
        "stations get too dry with the clock as it stands",
        "Extra runs, night by night",
        "ercent adjust",
        "Until when: ",
        "Watering restrictions of the place override",
        "work in pairs",
        "dew point is kept",
        "Station 13 is blocked",
    ):
        assert words in " ".join(done.stdout.split())


def test_the_clock_that_a_visit_found_against_the_forecast(files):
    done = heat("--found", files / "visit.toml", "--json", "-")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["spell"]["hotter_c"] == 0.0
    assert found["table_source"] == "the clock as it was found"
    # Program B starts at 3 in the morning on Monday, Wednesday and Friday: three nights of 40 min for station 5.
    five = {run["serves"]: run["minutes"] for run in found["table"] if run["terminal"] == 5}
    assert five == {"2026-07-15": 40.0, "2026-07-17": 40.0, "2026-07-20": 40.0}
    # Program A starts twice a night.
    assert {run["minutes"] for run in found["table"] if run["terminal"] == 1} == {24.0}
    hotter = json.loads(heat("--found", files / "visit.toml", "--hotter", "4.5 C", "--json", "-").stdout)
    for cool, hot in zip(found["stations"], hotter["stations"], strict=True):
        assert hot["extra_min"] >= cool["extra_min"] or hot["blocked"]
    assert hotter["percent_adjust"]["set_pct"] >= found["percent_adjust"]["set_pct"]


def test_the_programs_that_were_keyed_in(files):
    done = heat("--now", files / "clock.json", "--json", "-")
    assert done.returncode == 0, done.stderr
    checked = json.loads(done.stdout)
    assert checked["table_source"] == "the clock as it was keyed in"
    keyed = Counter()
    for program in json.loads((files / "clock.json").read_text("utf-8"))["programs"]:
        for station in program["minutes"]:
            keyed[station["terminal"]] += station["minutes"] * len(program["starts"]) * len(program["days"])
    held = Counter()
    for run in checked["table"]:
        held[run["terminal"]] += run["minutes"]
    assert held == keyed
    assert len(keyed) == 13  # every station but the blocked one


def test_degrees_of_either_scale_are_one_difference(files):
    one, other = (
        json.loads(heat("--table", files / "week.json", "--hotter", text, "--json", "-").stdout)
        for text in ("9 °F", "5 °C")
    )
    assert one["spell"]["hotter_c"] == pytest.approx(other["spell"]["hotter_c"]) == pytest.approx(5.0)
    for name in ("terminal", "passes_on", "extra_min"):
        assert [each[name] for each in one["stations"]] == [each[name] for each in other["stations"]]


def test_the_same_input_gives_the_same_bytes(files):
    words = ("heat", SITE, WEATHER, *TODAY, "--table", files / "week.json", "--hotter", "8 F", "--json", "-")
    one, other = etsched(*words, PYTHONHASHSEED="1", TZ="UTC"), etsched(*words, PYTHONHASHSEED="2", TZ="Asia/Tokyo")
    assert one.stdout
    assert one.stdout == other.stdout


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        ((), 4, "there is no one table to check; name what is in the clock"),
        (("--found", "visit.toml", "--table", "week.json"), 4, "there is no one table to check"),
        (("--now", "week.json"), 3, 'this is no "etsched.clock/1" document'),
        (("--found", "blind.toml"), 4, "the visit of Mon Jul 13, 2026 read no program of the clock"),
        (("--table", "visit.toml"), 3, "this is not JSON"),
        (("--table", "nowhere.json"), 3, "the file cannot be read"),
        (("--table", "week.json", "--days", "3"), 4, "days alone say nothing of heat"),
        (("--table", "week.json", "--hotter", "8"), 2, '"8" has no unit; write how much hotter with its unit'),
        (("--table", "week.json", "--hotter", "8 mm"), 2, "does not measure the same thing"),
        (("--table", "week.json", "--hotter", "80 F"), 4, "+44.4 °C (+80 °F) is no heat to check for"),
        (("--table", "week.json", "--hotter", "-3 F"), 4, "for cooler days plan a week"),
        (("--table", "week.json", "--hotter", "8 F", "--days", "-2"), 4, "-2 hotter days cannot be checked"),
        (("--table", "week.json", "--hotter", "8 F", "--from", "2026-07-01"), 4, "the hotter days begin on 2026-07-01"),
        (("--table", "week.json", "--hotter", "8 F", "--from", "soon"), 2, '"soon" is no date'),
    ],
)
def test_bad_input_gets_one_sentence(files, words, code, sentence):
    done = heat(*(files / word if "." in word and word[0] != "2" else word for word in words))
    assert (done.returncode, done.stdout) == (code, "")
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr
    assert len([line for line in done.stderr.splitlines() if line and not line.startswith(("Usage", "Try"))]) == 1
