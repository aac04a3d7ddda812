"""`etsched weather` and a week from feeds, as a person calls them, on loopback feeds."""

import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

ROOT = Path(__file__).parents[2]


def on_feeds(*words, tmp_path, faults=()):
    command = [sys.executable, str(ROOT / "demo" / "with_feeds.py"), "--out", str(tmp_path)]
    command += [word for fault in faults for word in ("--fault", fault)]
    return subprocess.run(
        [*command, *map(str, words)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"},
        check=False,
        timeout=120,
    )


SITE = ROOT / "demo" / "site.toml"


def test_a_week_from_the_sites_own_feeds(tmp_path):
    done = on_feeds("week", SITE, "--html", tmp_path / "w.html", tmp_path=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Thistledown Grange" in done.stdout
    assert "Weather data by Open-Meteo.com (CC BY 4.0)" in done.stdout
    assert "Weather data by Open-Meteo.com (CC BY 4.0)" in (tmp_path / "w.html").read_text("utf-8")
    assert "rain gauge: answer of 2026-07-13" in done.stderr


def test_a_broken_feed_is_told_and_the_next_one_serves(tmp_path):
    done = on_feeds("week", SITE, tmp_path=tmp_path, faults=("open-meteo-forecast=html", "station=5xx"))
    assert done.returncode == 0, done.stderr
    assert "agronomic station gives nothing: 127.0.0.1 answers 503" in done.stdout
    assert "Traceback" not in done.stderr


def test_show_check_and_chart_of_what_is_kept(tmp_path):
    assert on_feeds("weather", "fetch", SITE, tmp_path=tmp_path).returncode == 0
    shown = on_feeds("weather", "show", SITE, tmp_path=tmp_path)
    assert "forecast" in shown.stdout
    assert "sound" in shown.stdout
    checked = on_feeds("weather", "check", SITE, tmp_path=tmp_path)
    assert "60 days" in checked.stdout
    chart = on_feeds("weather", "chart", SITE, "--svg", "-", tmp_path=tmp_path)
    assert ElementTree.fromstring(chart.stdout).tag.endswith("svg")  # noqa: S314 - our own output


def test_nothing_kept_and_nothing_asked(tmp_path):
    done = on_feeds("week", SITE, "--no-fetch", tmp_path=tmp_path)
    assert done.returncode == 4
    assert "it was never asked" in done.stderr


def test_fetch_that_gets_nothing_ends_with_seven(tmp_path):
    # A redirect to another host is refused at once; a 503 would be asked for again, and again, at each of the feeds.
    every = ("gauge", "station", "open-meteo-forecast", "open-meteo-ensemble", "nws", "power")
    broken = [f"{name}=redirect" for name in every]
    assert on_feeds("weather", "fetch", SITE, tmp_path=tmp_path).returncode == 0
    done = on_feeds("weather", "fetch", SITE, tmp_path=tmp_path, faults=broken)
    assert done.returncode == 7
    assert "No feed answered" in done.stderr
