"""Every feed with every fault: bounded, said, and never a silent wrong plan."""

import shutil
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from time import monotonic

import pytest

from demo.weather_server import start_weather_server
from demo.weather_server.faults import faults_of
from etsched.errors import PlanRefused
from etsched.feeds.catalogue import RANGES
from etsched.planning.week import plan_week
from etsched.usecases.weather import refresh_all, site_weather
from tests.usecases.loopback import DEMO_SITE, FEEDS, LIMITS, TODAY, Hastily, parts, site

TOMORROW, YESTERDAY = TODAY + timedelta(days=1), TODAY - timedelta(days=1)
# The chain beside a faulty feed: a full one behind it, so that a week can be planned whatever the first one does.
BACKUP = {"open-meteo forecast": "nasa power"}
RECOVERS = {"5xx-once", "5xx-thrice"}
# The client waits these out until its deadline; nothing comes of the feed however short that is.
WAITED_OUT = {"hang", "slow-drip", "429-retry-after"}
CASES = [(feed, fault) for feed, (name, _, _) in FEEDS.items() if feed != RANGES for fault in faults_of(name)]
# What no check can see: a forecast without radiation does not tell at what hour it stands, and a gauge's single
# column no other unit.
UNSEEN = {("nws grid", "shifted-hours"), ("rain gauge", "wrong-units"), ("agronomic station", "shifted-hours")}


@pytest.fixture(scope="module")
def server():
    with start_weather_server(TODAY) as running:
        yield running


@pytest.fixture
def well(server):
    server.clear()
    server.forget()
    server.set_today(TODAY)
    return server


@pytest.fixture(scope="module")
def said_when_well(server, tmp_path_factory):
    """What a reader is told about the weather of a feed's site when nothing is wrong, worked out once a feed."""

    @cache
    def said(feed):
        server.clear()
        made = site(feed, BACKUP.get(feed, "open-meteo forecast"))
        gateway = parts(server.base_url, tmp_path_factory.mktemp("sound"))
        return set(_said(site_weather(made, DEMO_SITE, gateway, refresh_all([made], gateway))))

    return said


@pytest.fixture(scope="module")
def kept_yesterday(server, tmp_path_factory):
    """The folder of answers that a feed's site kept yesterday, asked for once a feed."""

    @cache
    def kept(feed):
        folder = tmp_path_factory.mktemp("yesterday")
        server.set_today(YESTERDAY)
        refresh_all([site(feed, BACKUP.get(feed, "open-meteo forecast"))], parts(server.base_url, folder, YESTERDAY))
        server.set_today(TODAY)
        return folder

    return kept


def _gateway(well, kept_in, feed, fault):
    """A gateway to a feed that is faulty and to the one behind it, which is always waited for as long as it takes.

    A host that asks for patience gets it from all feeds there, so the other feed lives elsewhere, as in the world.
    """
    gateway = parts(well.base_url, kept_in, elsewhere=(BACKUP.get(feed, "open-meteo forecast"),))
    well.set_fault(FEEDS[feed][0], fault)
    return replace(gateway, client=Hastily(gateway.client, well.base_url)) if fault in WAITED_OUT else gateway


def _week(made, gateway, refresh):
    found = site_weather(made, DEMO_SITE, gateway, refresh)
    return found, plan_week(made, found.weather, TOMORROW)


def _said(found):
    """All that a reader is told about the weather of a site."""
    remarks = [reason for remark in found.weather.remarks for reason in remark.reasons]
    return [*remarks, *found.weather.notes, *(note for link in found.links for note in link.notes)]


@pytest.mark.parametrize(("feed", "fault"), CASES)
def test_a_faulty_feed_with_another_behind_it(well, said_when_well, tmp_path, feed, fault):
    made = site(feed, BACKUP.get(feed, "open-meteo forecast"))
    gateway = _gateway(well, tmp_path, feed, fault)
    begun = monotonic()
    refresh = refresh_all([made], gateway)
    assert monotonic() - begun < LIMITS.deadline_s + 4.0
    assert well.counts()[FEEDS[feed][0]] <= LIMITS.tries + 2
    found, plan = _week(made, gateway, refresh)
    first, second = found.links
    assert second.outcome == "answered"
    if first.outcome == "nothing":
        assert first.sentence.startswith(f"{feed} gives nothing: 127.0.0.1")
        assert any(note.startswith(f"{feed} gives nothing") for note in plan.notes)
        assert not any(feed in source for day in plan.days for source in day.sources)
    elif fault not in RECOVERS and (feed, fault) not in UNSEEN:
        # The answer was usable in part: the part that was not is told.
        assert set(_said(found)) != said_when_well(feed), "the fault left no trace in what the reader is told"


@pytest.mark.parametrize(("feed", "fault"), CASES)
def test_a_feed_that_answered_yesterday_and_is_faulty_today(well, kept_yesterday, tmp_path, feed, fault):
    made = site(feed, BACKUP.get(feed, "open-meteo forecast"))
    shutil.copytree(kept_yesterday(feed), tmp_path, dirs_exist_ok=True)
    gateway = _gateway(well, tmp_path, feed, fault)
    refresh = refresh_all([made], gateway)
    found, plan = _week(made, gateway, refresh)
    link = found.links[0]
    if refresh.failures:
        assert link.outcome == "kept"
        assert "its answer of 2026-07-12 05:00, 24 h old, is used" in link.sentence
        assert f"{link.sentence}." in plan.notes
    else:
        assert link.outcome == "answered"
        assert "answer of 2026-07-13 05:00" in link.sentence


@pytest.mark.parametrize(("feed", "fault"), [case for case in CASES if case[1] in {"hang", "html", "5xx", "redirect"}])
def test_a_lone_faulty_feed_is_refused_with_a_sentence(well, tmp_path, feed, fault):
    made, gateway = site(feed), _gateway(well, tmp_path, feed, fault)
    with pytest.raises(PlanRefused, match=f"no weather: {feed} gives nothing: 127.0.0.1"):
        site_weather(made, DEMO_SITE, gateway, refresh_all([made], gateway))


@pytest.mark.parametrize("address", ["http://127.0.0.1:9", "http://no-such-host.invalid"])
def test_a_host_that_is_not_there(well, tmp_path, address):
    made = site("nasa power", "open-meteo forecast")
    gateway = parts(well.base_url, tmp_path)
    host_of = gateway.host_of
    gateway = replace(
        gateway,
        host_of=lambda feed: replace(host_of(feed), base_url=address) if feed == "nasa power" else host_of(feed),
    )
    found, _ = _week(made, gateway, refresh_all([made], gateway))
    assert [link.outcome for link in found.links] == ["nothing", "answered"]


def test_measured_values_outrank_modelled_ones_and_the_gauge_all_rain(well, tmp_path):
    made = site("rain gauge", "agronomic station", "open-meteo forecast")
    gateway = parts(well.base_url, tmp_path)
    found, plan = _week(made, gateway, refresh_all([made], gateway))
    sources = found.weather.remarks[-20].sources
    assert found.weather.daily.index[-20].date() < TODAY
    assert sources[0] == "temperature: agronomic station"
    assert sources[-1] == "rain: rain gauge"
    assert all("open-meteo forecast" in source for day in plan.days for source in day.sources)
    assert plan.attributions == ("Weather data by Open-Meteo.com (CC BY 4.0)",)
    assert plan.observed_through == TODAY - timedelta(days=1)


def test_a_sensor_that_is_pulled_out_costs_certainty_not_honesty(well, tmp_path):
    made, gateway = site("nws grid", "nasa power"), parts(well.base_url, tmp_path)
    _, plan = _week(made, gateway, refresh_all([made], gateway))
    day = plan.days[0]
    assert day.grade == "filled"
    assert any("radiation estimated" in text for text in day.filled)
    assert day.eto_low_mm < day.eto_mm < day.eto_high_mm


def test_each_cell_is_asked_once_for_all_sites_in_it(well, tmp_path):
    gateway = parts(well.base_url, tmp_path)
    one = site("open-meteo forecast")
    near = [replace(one, place=replace(one.place, latitude_deg=37.36 + n * 0.008)) for n in range(10)]
    refresh = refresh_all(near, gateway)
    assert not refresh.failures
    assert well.counts() == {"open-meteo-forecast": 1}


def test_a_revised_forecast_keeps_its_history(well, tmp_path):
    made = site("open-meteo forecast")
    for day in range(3):
        today = TODAY + timedelta(days=day)
        well.set_today(today)
        gateway = parts(well.base_url, tmp_path, today)
        refresh_all([made], gateway)
        refresh_all([made], gateway)  # the same weather again is no revision
    kept = gateway.bodies.history("open-meteo forecast", "37.4_-119.9")
    assert [body.revision for body in kept] == [1, 2, 3]
    assert site_weather(made, DEMO_SITE, gateway).links[0].sentence.endswith("revision 3")
    assert [body.first_fetched.date() for body in kept] == [TODAY + timedelta(days=n) for n in range(3)]


def test_what_was_a_forecast_stays_one_when_its_day_has_passed(well, tmp_path):
    made = site("open-meteo forecast")
    refresh_all([made], parts(well.base_url, tmp_path))
    later = parts(well.base_url, tmp_path, TODAY + timedelta(days=3))
    found = site_weather(made, DEMO_SITE, later)
    ahead = found.weather.daily["is_forecast"]
    assert ahead.loc["2026-07-13"]
    assert not ahead.loc["2026-07-12"]


def test_a_file_beside_the_site_file_outranks_the_network(well, tmp_path):
    (tmp_path / "gauge.csv").write_text("date,rain_in\n2026-07-11,0.00\n2026-07-12,1.00\n", encoding="utf-8")
    chain = site("open-meteo forecast")
    made = replace(chain, feeds=(replace(chain.feeds[0], feed="rain gauge", file="gauge.csv"), *chain.feeds))
    gateway = parts(well.base_url, tmp_path / "kept")
    found = site_weather(made, tmp_path / "site.toml", gateway, refresh_all([made], gateway))
    assert found.weather.daily.loc["2026-07-12", "rain_mm"] == pytest.approx(25.4)
    missing = replace(made, feeds=(replace(made.feeds[0], file="nowhere.csv"), *chain.feeds))
    told = site_weather(missing, tmp_path / "site.toml", gateway)
    assert "nowhere.csv: the file cannot be read" in told.weather.notes[0]


def test_a_site_without_feeds_is_told_what_to_do(tmp_path):
    with pytest.raises(PlanRefused, match="names no weather feed; add a"):
        site_weather(site(), DEMO_SITE, parts("http://127.0.0.1:9", tmp_path))


def test_a_feed_that_was_never_asked_says_so(tmp_path):
    with pytest.raises(PlanRefused, match="nasa power gives nothing: it was never asked"):
        site_weather(site("nasa power"), DEMO_SITE, parts("http://127.0.0.1:9", tmp_path))


def test_the_same_answers_give_the_same_plan_on_any_day_that_they_are_read(well, tmp_path):
    made, gateway = site("agronomic station", "open-meteo forecast"), parts(well.base_url, tmp_path)
    refresh_all([made], gateway)
    plans = [plan_week(made, site_weather(made, DEMO_SITE, gateway).weather, date(2026, 7, 14)) for _ in range(2)]
    assert plans[0] == plans[1]


def test_an_ensemble_widens_the_range_of_the_days_ahead_and_plans_nothing(well, tmp_path):
    gateway = parts(well.base_url, tmp_path)
    alone = site("open-meteo forecast")
    both = site("open-meteo forecast", "open-meteo ensemble")
    refresh_all([both], gateway)
    plain, ranged = (
        plan_week(made, site_weather(made, DEMO_SITE, gateway).weather, TOMORROW) for made in (alone, both)
    )
    assert plain.nights == ranged.nights
    assert all(day.eto_low_mm == day.eto_mm == day.eto_high_mm for day in plain.days)
    assert all(day.eto_low_mm < day.eto_high_mm for day in ranged.days)
    assert all(day.eto_low_mm <= day.eto_mm <= day.eto_high_mm for day in ranged.days)
    assert all(0.0 <= day.rain_low_mm <= day.rain_high_mm for day in ranged.days)
