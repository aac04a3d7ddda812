"""`etsched reasons`: every choice of a stored plan can be asked for, and nothing is planned again."""

import json

import pytest

from .called import etsched
from .test_commands import SITE, TODAY, WEATHER


@pytest.fixture(scope="module")
def week(tmp_path_factory):
    path = tmp_path_factory.mktemp("reasons") / "week.json"
    done = etsched("week", SITE, WEATHER, *TODAY, "--json", path)
    assert done.returncode == 0, done.stderr
    return path


def test_every_night_of_every_station_has_its_answer(week):
    document = json.loads(week.read_text("utf-8"))
    nights = sorted({rest["opens_on"] for rest in document["rests"]} | {n["opens_on"] for n in document["nights"]})
    assert len(nights) == 7
    for station in document["stations"]:
        done = etsched("reasons", week, station["terminal"])
        assert done.returncode == 0, done.stderr
        assert done.stdout.count("Night that begins on") == 7
        assert done.stdout.count("why this night:") + done.stdout.count("does not run (") == 7


def test_one_night_comes_with_its_working(week):
    document = json.loads(week.read_text("utf-8"))
    night = document["nights"][0]
    run = night["runs"][0]
    done = etsched("reasons", week, run["terminal"], "--night", night["opens_on"])
    assert done.returncode == 0, done.stderr
    assert f"runs {run['minutes']} min" in done.stdout
    assert run["reason"] in done.stdout
    for step in ("depletion at dusk", "net depth", "run-time multiplier", "minutes that run"):
        assert step in done.stdout


def test_a_changed_document_answers_with_what_it_holds(week, tmp_path):
    document = json.loads(week.read_text("utf-8"))
    document["nights"][0]["runs"][0]["reason"] = "was keyed in by hand"
    changed = tmp_path / "changed.json"
    changed.write_text(json.dumps(document), encoding="utf-8")
    terminal = document["nights"][0]["runs"][0]["terminal"]
    assert "it was keyed in by hand" in etsched("reasons", changed, terminal).stdout


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("99",), 4, "there is no station at terminal 99; this document has 1, 2, 3"),
        (("5", "--night", "2027-01-01"), 4, "has no night that begins on 2027-01-01; its nights are 2026-07-13"),
    ],
)
def test_what_the_document_does_not_hold_is_said(week, words, code, said):
    done = etsched("reasons", week, *words)
    assert done.returncode == code
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_no_week_document_is_refused(tmp_path):
    (tmp_path / "x.json").write_text("[1]", encoding="utf-8")
    done = etsched("reasons", tmp_path / "x.json", "5")
    assert done.returncode == 3
    assert 'this is no "etsched.week/1" document' in done.stderr
