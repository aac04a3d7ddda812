"""`etsched clock` as a person calls it, on the invented property with an ordinary clock."""

import json
import re
from html import unescape
from pathlib import Path

import pytest

from .called import etsched
from .test_commands import DEMO, TODAY, WEATHER

VISIT = str(DEMO / "visit-1.toml")


def site_with(programs, starts):
    text = (DEMO / "site.toml").read_text("utf-8")
    text = re.sub(r"\[controller\][^[]*", "", text)
    return text.replace("[place]", f"[controller]\nprograms = {programs}\nstarts = {starts}\n\n[place]", 1)


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    place = tmp_path_factory.mktemp("clock")
    (place / "site.toml").write_text(site_with(4, 4), encoding="utf-8")
    (place / "small.toml").write_text(site_with(3, 3), encoding="utf-8")
    (place / "none.toml").write_text(re.sub(r"\[controller\][^[]*", "", site_with(1, 1)), encoding="utf-8")
    (place / "blind.toml").write_text('date = "2026-07-13"\n', encoding="utf-8")
    done = clock(place / "site.toml", "--json", place / "now.json")
    assert done.returncode == 0, done.stderr
    other = json.loads((place / "now.json").read_text("utf-8")) | {"site": "Elsewhere"}
    (place / "other.json").write_text(json.dumps(other), encoding="utf-8")
    (place / "week.json").write_text('{"schema": "etsched.week/1"}', encoding="utf-8")
    return place


def clock(site, *words, **env):
    return etsched("clock", site, WEATHER, *TODAY, *words, **env)


def one_line(text):
    return " ".join(text.split())


def test_the_programs_are_on_standard_output_and_nothing_else(files):
    done = clock(files / "site.toml")
    assert (done.returncode, done.stderr) == (0, "")
    text = one_line(done.stdout)
    for words in (
        "entries to key in",
        "of the clock's 4, each with at most 4 starts",
        "Key this in before 10:00 pm on Mon Jul 13; later, only",
        "so key in the next paper before 10:00 pm on Mon Jul 20.",
        "What rounding and grouping cost",
        "Watering restrictions of the place override",
        "mains voltage",
    ):
        assert words in text
    assert "What to change" not in text


def test_terminal_page_and_document_say_the_same(files):
    document = json.loads((files / "now.json").read_text("utf-8"))
    page = unescape(re.sub(r"<[^>]+>", " ", clock(files / "site.toml", "--html", "-").stdout))
    screen = one_line(clock(files / "site.toml").stdout)
    entries = sum(len(p["days"]) + len(p["starts"]) + len(p["minutes"]) for p in document["programs"])
    assert document["entries"] == entries
    for text in (one_line(page), screen):
        assert document["entries_words"] in text
        assert f"{entries} entries to key in" in text
        for program in document["programs"]:
            assert program["days_words"] in text
            assert program["ends_words"] in text
            assert all(start["words"] in text for start in program["starts"])
        for station in document["stations"]:
            if station["week_min"]:
                depth = f"{station['credited_mm'] / 25.4:.2f}"
                water = f"{station['volume_l'] / 3.785411784:,.0f}"
                assert f"{station['cycles_count']} × {station['cycle_min']}" in text
                assert depth in text
                assert water in text
        total = document["volume_l"] / 3.785411784
        assert f"{total:,.0f} gal" in text
    assert document["volume_l"] == pytest.approx(sum(each["volume_l"] for each in document["stations"]))


def test_what_to_change_leads_from_the_clock_as_found_to_the_table(files):
    document = json.loads(clock(files / "site.toml", "--found", VISIT, "--json", "-").stdout)
    changes = {(each["program"], each["what"]) for each in document["changes"]}
    # The visit found program A on Monday, Wednesday and Friday with a start at 4 in the afternoon.
    assert any(program == "A" and "4:00 pm" in what for program, what in changes)
    text = one_line(clock(files / "site.toml", "--found", VISIT).stdout)
    assert "What to change in the clock" in text
    for _, what in changes:
        assert what in text


def test_the_table_that_was_keyed_in_needs_no_change(files):
    done = clock(files / "site.toml", "--now", files / "now.json", "--json", files / "next.json")
    assert "Nothing is to be changed" in done.stdout
    document = json.loads((files / "next.json").read_text("utf-8"))
    assert document["changes"] == []
    assert document["programs"] == json.loads((files / "now.json").read_text("utf-8"))["programs"]


def test_a_station_that_three_starts_do_not_serve_runs_in_two_programs(files):
    document = json.loads(clock(files / "small.toml", "--json", "-").stdout)
    bank = next(each for each in document["stations"] if each["terminal"] == 7)
    assert len(bank["letters"]) == 2
    assert bank["cycles_count"] > 3
    assert bank["soak_min"] >= bank["least_soak_min"] > 0
    assert all(len(each["starts"]) <= 3 for each in document["programs"])


def test_metric_readers_get_metric(files):
    done = clock(files / "site.toml", "--units", "metric")
    assert "all depths: mm" in done.stdout
    assert "22:00" in done.stdout
    assert " pm" not in done.stdout


def test_the_same_input_gives_the_same_bytes(files):
    words = (files / "site.toml", "--found", VISIT, "--json", "-")
    one, other = clock(*words, PYTHONHASHSEED="1", TZ="UTC"), clock(*words, PYTHONHASHSEED="2", TZ="Asia/Tokyo")
    assert one.stdout
    assert one.stdout == other.stdout


def test_a_hostile_name_is_shown_and_never_obeyed(files, tmp_path):
    bad = (files / "site.toml").read_text("utf-8").replace('area = "Courtyard"', "area = '<script>alert(1)</script>'")
    (tmp_path / "site.toml").write_text(bad, encoding="utf-8")
    page = clock(tmp_path / "site.toml", "--html", "-").stdout
    assert "<script" not in page
    assert "&lt;script&gt;" in page


@pytest.mark.parametrize(
    ("site", "words", "code", "sentence"),
    [
        ("none.toml", (), 4, "add a table [controller] to the site file with the two keys programs and starts"),
        ("site.toml", ("--found", VISIT, "--now", "now.json"), 4, "one of them"),
        ("site.toml", ("--found", "blind.toml"), 4, "read no program of the clock"),
        ("site.toml", ("--now", "week.json"), 3, 'this is no "etsched.clock/1" document'),
        ("site.toml", ("--now", "other.json"), 3, 'it is of "Elsewhere"'),
        ("site.toml", ("--now", "site.toml"), 3, "this is not JSON"),
        ("site.toml", ("--now", "nowhere.json"), 3, "the file cannot be read"),
    ],
)
def test_bad_input_gets_one_sentence(files, site, words, code, sentence):
    named = [files / word if "." in word and not Path(word).is_absolute() else word for word in words]
    done = clock(files / site, *named)
    assert (done.returncode, done.stdout) == (code, "")
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_terminal_that_the_site_has_not_is_said_by_both_commands_that_read_the_clock(files):
    document = json.loads((files / "now.json").read_text("utf-8"))
    document["programs"][0]["minutes"].append({"terminal": 77, "minutes": 9})
    keyed = files / "more.json"
    keyed.write_text(json.dumps(document), encoding="utf-8")
    words = "The clock gives minutes to terminal 77, which the site file does not have, so it is left out here"
    for command, now, said in (("clock", keyed, 1), ("heat", keyed, 1), ("heat", files / "now.json", 0)):
        done = etsched(command, files / "site.toml", WEATHER, *TODAY, "--now", now)
        assert (done.returncode, one_line(done.stdout).count(words)) == (0, said)
