"""Every command as a person calls it: what goes where, and with which exit code it ends."""

import csv
import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from .called import etsched
from .made_site import made_site


def _installed_locales():
    if shutil.which("locale") is None:
        return []
    return subprocess.run(["locale", "-a"], capture_output=True, text=True, check=True).stdout.split()


DEMO = Path(__file__).parents[2] / "demo"
SITE, WEATHER = str(DEMO / "site.toml"), str(DEMO / "weather.csv")
TODAY = ("--today", "2026-07-13")
# Days of the week have other names, and numbers other signs, where a foreign locale is installed and asked for.
FOREIGN = [name for name in _installed_locales() if name.split(".")[0] not in {"C", "POSIX", "en_US"}][:1]
MACHINES = (
    {"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C.UTF-8"},
    {"PYTHONHASHSEED": "2", "TZ": "Asia/Tokyo"},
    {"PYTHONHASHSEED": "3", "TZ": "America/St_Johns", "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    *({"PYTHONHASHSEED": "4", "TZ": "Pacific/Auckland", "LC_ALL": name, "LANG": name} for name in FOREIGN),
)


@pytest.fixture(scope="module")
def week():
    return json.loads(etsched("week", SITE, WEATHER, *TODAY, "--json", "-").stdout)


def test_the_table_is_on_standard_output_and_nothing_else(week):
    done = etsched("week", SITE, WEATHER, *TODAY)
    assert (done.returncode, done.stderr) == (0, "")
    for line in ("Thistledown Grange", "Hall bank", "valves off by", "Guesses, the weightiest first"):
        assert line in done.stdout
    minutes = sum(run["minutes"] for run in week["applied"])
    assert str(minutes) in done.stdout


def test_a_document_on_standard_output_stands_alone(week):
    assert week["schema"] == "etsched.week/1"
    rows = list(csv.DictReader(io.StringIO(etsched("week", SITE, WEATHER, *TODAY, "--csv", "-").stdout)))
    assert sum(int(row["minutes"]) for row in rows) == sum(run["minutes"] for run in week["applied"])
    assert etsched("week", SITE, WEATHER, *TODAY, "--html", "-").stdout.lower().startswith("<!doctype html>")


def test_files_are_written_whole_and_named_on_standard_error(tmp_path):
    done = etsched("week", SITE, WEATHER, *TODAY, "--csv", "w.csv", "--html", "w.html", cwd=tmp_path)
    assert done.returncode == 0
    assert done.stderr.splitlines() == ["Written: w.csv", "Written: w.html"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["w.csv", "w.html"]


def test_a_place_that_cannot_be_written_is_said(tmp_path):
    done = etsched("week", SITE, WEATHER, *TODAY, "--csv", tmp_path / "nowhere" / "w.csv")
    assert done.returncode == 6
    assert "it cannot be written (No such file or directory)" in done.stderr


def test_the_same_input_gives_the_same_bytes_whatever_the_machine_says():
    one = etsched("week", SITE, WEATHER, *TODAY, "--json", "-", PYTHONHASHSEED="1", TZ="UTC", LC_ALL="C.UTF-8").stdout
    other = etsched("week", SITE, WEATHER, *TODAY, "--json", "-", PYTHONHASHSEED="2", TZ="Asia/Tokyo").stdout
    assert one == other


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_made_sites_give_the_same_bytes_whatever_the_machine_says(tmp_path, seed):
    (tmp_path / "site.toml").write_text(made_site(seed), encoding="utf-8")
    written = []
    for at, machine in enumerate(MACHINES):
        files = {f"--{kind}": f"{at}.{kind}" for kind in ("json", "csv", "html")}
        words = [word for pair in files.items() for word in pair]
        done = etsched("week", "site.toml", WEATHER, *TODAY, *words, cwd=tmp_path, **machine)
        assert done.returncode == 0, done.stderr
        written.append([(tmp_path / name).read_bytes() for name in files.values()])
    assert json.loads(written[0][0])["site"]["name"] == f"Möwengrün {seed}"
    assert written.count(written[0]) == len(MACHINES)


def test_why_follows_the_minutes_to_their_sources():
    done = etsched("why", SITE, 7, WEATHER, *TODAY)
    assert done.returncode == 0
    for words in ("60 × gross depth ÷ rate that lands", "FAO-56 (Allen et al. 1998)", "Water books of station 7"):
        assert words in done.stdout


@pytest.mark.parametrize("words", [(SITE, WEATHER, 2), (SITE, "A1", WEATHER), (SITE, "７", WEATHER)])
def test_why_says_where_the_station_stands(words):
    done = etsched("why", *words, *TODAY)
    assert (done.returncode, done.stdout) == (2, "")
    assert f'"{words[1]}" is no number of a terminal' in done.stderr
    assert "wired to, after SITE and before WEATHER." in done.stderr
    assert "integer" not in done.stderr


def test_why_of_a_station_that_is_not_there():
    done = etsched("why", SITE, 99, WEATHER, *TODAY)
    assert (done.returncode, done.stdout) == (4, "")
    assert "has no station 99; its terminals are 1, 2, 3" in done.stderr


def test_next_week_begins_with_the_water_of_the_last(tmp_path, week):
    (tmp_path / "week.json").write_text(json.dumps(week), encoding="utf-8")
    again = etsched("week", SITE, WEATHER, "--today", "2026-07-17", "--after", tmp_path / "week.json", "--json", "-")
    assert again.returncode == 0, again.stderr
    carried = json.loads(again.stdout)
    assert carried["water"]["morning"] == "2026-07-18"
    assert not any(guess["field"] == "depletion" for guess in carried["assumptions"])
    (tmp_path / "ran.csv").write_text("night,station,minutes\n", encoding="utf-8")
    dry = etsched(
        "week",
        SITE,
        WEATHER,
        "--today",
        "2026-07-17",
        "--after",
        tmp_path / "week.json",
        "--ran",
        tmp_path / "ran.csv",
        "--json",
        "-",
    )
    # Where nothing ran the ground is drier on every station that was to run.
    thirsty = json.loads(dry.stdout)["water"]["deficit_mm"]
    assert all(thirsty[run][0] > carried["water"]["deficit_mm"][run][0] for run in ("1", "7", "14"))


@pytest.mark.parametrize(
    ("text", "line", "sentence"),
    [
        ("station,minutes\n", 1, "header: it is not night,station,minutes; name the three columns so, in this order."),
        ("night,station,minutes\n2026-07-14,7\n", 2, "it holds 2 cells, not 3; give night, station and minutes."),
        ("night,station,minutes\n7/14/2026,7,9\n", 2, 'night: "7/14/2026" is no date; write it as 2026-07-13.'),
        ("night,station,minutes\n2026-07-14,99,9\n", 2, 'station: "99" is no terminal of this site; use the terminal'),
        ("night,station,minutes\n2026-07-14,7,-9\n", 2, 'minutes: "-9" is no number of minutes of a day; give whole'),
        ("night,station,minutes\n2026-07-14,7,9.5\n", 2, 'minutes: "9.5" is no number of minutes of a day; give whole'),
        ("night,station,minutes\n2026-07-14,7,1441\n", 2, 'minutes: "1441" is no number of minutes of a day'),
        (
            "night,station,minutes\n2026-07-14,7,9\n2026-07-14,7,9\n",
            3,
            "night: station 7 stands twice on 2026-07-14; add its minutes up in one line.",
        ),
    ],
)
def test_a_bad_list_of_what_ran(tmp_path, text, line, sentence):
    (tmp_path / "ran.csv").write_text(text, encoding="utf-8")
    done = etsched("week", SITE, WEATHER, *TODAY, "--ran", tmp_path / "ran.csv")
    assert (done.returncode, done.stdout) == (3, "")
    assert f"ran.csv, line {line}" in done.stderr
    assert sentence in done.stderr


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("nonsense", "this is not JSON; give the document as week --json wrote it."),
        ("[1]", 'schema: this is no "etsched.week/1" document; give one that week --json wrote.'),
        ('{"schema": "etsched.week/1"}', "water: it is missing; give the document as week --json wrote it."),
        (
            '{"schema": "etsched.week/1", "site": {"name": "Thistledown Grange, Cobble Ferry"}, "applied": [], '
            '"water": {"morning": "2026-07-14", '
            '"deficit_mm": {"1": [0,0,0]}, "thickness_mm": {"1": [1,1,1]}}}',
            "water.deficit_mm: its stations are not the site's (station 2 stands on one side only)",
        ),
    ],
)
def test_a_bad_document_of_last_week(tmp_path, text, sentence):
    (tmp_path / "week.json").write_text(text, encoding="utf-8")
    done = etsched("week", SITE, WEATHER, *TODAY, "--after", tmp_path / "week.json")
    assert (done.returncode, done.stdout) == (3, "")
    assert sentence in done.stderr


def test_files_that_are_not_there():
    done = etsched("week", "nowhere.toml", WEATHER)
    assert done.returncode == 3
    assert done.stderr.startswith("nowhere.toml: ")
    done = etsched("week", SITE, "nowhere.csv")
    assert done.returncode == 3
    assert done.stderr.startswith("nowhere.csv: ")


def test_a_starter_is_fit_to_plan_from_and_is_never_overwritten(tmp_path):
    assert etsched("new-site", "mine.toml", cwd=tmp_path).returncode == 0
    assert "The file can be used." in etsched("check", "site", "mine.toml", cwd=tmp_path).stdout
    again = etsched("new-site", "mine.toml", cwd=tmp_path)
    assert again.returncode == 6
    assert "it is there already and stays as it is" in again.stderr


def test_check_weather_tells_what_a_file_holds():
    done = etsched("check", "weather", WEATHER, *TODAY)
    assert "daily, 26 days from 2026-06-25 to 2026-07-20" in done.stdout


def test_reference_et_of_a_file():
    rows = list(csv.DictReader(io.StringIO(etsched("eto", WEATHER, "--site", SITE, *TODAY, "--csv", "-").stdout)))
    assert [row["day"] for row in rows][:2] == ["2026-06-25", "2026-06-26"]
    assert all(0.05 < float(row["fao56_in"]) < 0.45 for row in rows)
    assert "FAO-56 hourly, summed" in etsched("eto", WEATHER, "--site", SITE, *TODAY).stdout


def test_a_season_of_a_short_file():
    done = etsched("season", SITE, WEATHER, "--from", "2026-07-01", "--to", "2026-07-15")
    assert done.returncode == 0
    assert "Wed Jul 1" in done.stdout
    assert "season" in done.stdout
    refused = etsched("season", SITE, WEATHER, "--from", "2026-07-01", "--to", "2026-09-30")
    assert refused.returncode == 4
    assert "not inside the weather" in refused.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_prints_a_line_and_the_program_answers_it(shell):
    assert "_ETSCHED_COMPLETE" in etsched("completion", shell).stdout
    answered = etsched(_ETSCHED_COMPLETE="fish_complete", COMP_WORDS="etsched w", COMP_CWORD="w")
    assert "week" in answered.stdout


def test_wrong_words_end_with_two():
    done = etsched("week", SITE, WEATHER, "--today", "tomorrow")
    assert done.returncode == 2
    assert '"tomorrow" is no date; write it as 2026-07-13.' in done.stderr
    assert etsched("nonsense").returncode == 2


def test_a_narrow_terminal_gets_a_list_a_night():
    from rich.console import Console

    from etsched.cli import screen
    from tests.reports.sample_week import sample_week

    out = Console(width=80, record=True, file=io.StringIO())
    out.print(screen._night_lists(screen.week_table(sample_week())))
    assert all(len(line) <= 80 for line in out.export_text().splitlines())


def test_a_reader_that_has_seen_enough_ends_it_quietly():
    for words in ("", " --json -", " --csv -"):
        command = f"{sys.executable} -m etsched week {SITE} {WEATHER} --today 2026-07-13{words}"
        line = f"{command} | head -n 1; exit ${{PIPESTATUS[0]}}"
        done = subprocess.run(
            ["bash", "-c", line],
            capture_output=True,
            text=True,
            env=os.environ | {"PYTHONPATH": str(DEMO.parent)},
            check=False,
            timeout=60,
        )
        assert (done.returncode, done.stderr) == (0, "")


def test_a_terminal_that_knows_ascii_only_gets_the_table_and_a_document_stays_utf8():
    plain = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"}
    done = etsched("week", SITE, WEATHER, *TODAY, **plain)
    assert (done.returncode, done.stderr) == (0, "")
    assert "nights Mon Jul 13?Sun Jul 19" in done.stdout
    assert "3 × 4" in etsched("week", SITE, WEATHER, *TODAY, "--csv", "-", **plain).stdout


def test_a_closed_standard_output_is_said():
    line = f"{sys.executable} -m etsched week {SITE} {WEATHER} --today 2026-07-13 --json - >&-"
    done = subprocess.run(
        ["bash", "-c", line],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": str(DEMO.parent)},
        check=False,
        timeout=60,
    )
    assert done.returncode == 6
    assert "standard output is closed" in done.stderr
    assert "Traceback" not in done.stderr


def test_the_record_of_a_visit_is_started_and_checked(tmp_path):
    assert etsched("new-visit", SITE, "visit.toml", cwd=tmp_path).returncode == 0
    assert etsched("new-visit", SITE, "visit.toml", cwd=tmp_path).returncode == 6
    (tmp_path / "seen.toml").write_text(
        'date = 2026-07-13\n[[run]]\nstation = 7\nfrom_controller = true\n[[core]]\nstation = 7\nmoist = "4 in"\n',
        encoding="utf-8",
    )
    done = etsched("check", "visit", SITE, "seen.toml", *TODAY, cwd=tmp_path)
    assert "Visit of 2026-07-13: station runs 1, cores 1. The record can be used." in done.stdout
    (tmp_path / "bad.toml").write_text("date = 2026-07-13\n[[run]]\nstation = 99\n", encoding="utf-8")
    bad = etsched("check", "visit", SITE, "bad.toml", *TODAY, cwd=tmp_path)
    assert bad.returncode == 3
    assert "bad.toml, line 3" in bad.stderr


def test_a_link_is_followed_and_a_device_is_written_to(tmp_path):
    real = tmp_path / "real.csv"
    real.write_text("old", encoding="utf-8")
    (tmp_path / "link.csv").symlink_to(real)
    assert etsched("week", SITE, WEATHER, *TODAY, "--csv", tmp_path / "link.csv").returncode == 0
    assert (tmp_path / "link.csv").is_symlink()
    assert real.read_text("utf-8").startswith("night_opens_on")
    assert etsched("week", SITE, WEATHER, *TODAY, "--csv", os.devnull).returncode == 0
    assert not Path(os.devnull).is_file()
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    looped = etsched("week", SITE, WEATHER, *TODAY, "--csv", tmp_path / "a")
    assert (looped.returncode, "Traceback" in looped.stderr) == (6, False)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"minutes": -3}, "applied.0.minutes: it does not hold what this document keeps there"),
        ({"terminal": 77}, "applied: station 77 ran, which the site does not have"),
    ],
)
def test_a_document_of_last_week_that_cannot_be_true(tmp_path, week, change, sentence):
    changed = json.loads(json.dumps(week))
    changed["applied"][0] |= change
    (tmp_path / "week.json").write_text(json.dumps(changed), encoding="utf-8")
    done = etsched("week", SITE, WEATHER, *TODAY, "--after", tmp_path / "week.json")
    assert done.returncode == 3
    assert sentence in done.stderr


def test_a_day_beyond_the_calendar_and_a_blocked_stations_why():
    assert etsched("week", SITE, WEATHER, "--today", "9999-12-31").returncode == 2
    assert "Station 13 gets no minutes: valve never comes on" in etsched("why", SITE, 13, WEATHER, *TODAY).stdout
