"""Service settings: defaults, the file, the environment, where each value came from, and what is wrong with them."""

from datetime import time
from ipaddress import ip_network
from pathlib import Path

import pytest

from etsched.errors import SettingsRefused
from etsched.settings import HOSTS, read_settings, read_with_origins

EXAMPLE = Path(__file__).parents[1] / "config" / "settings.toml"


def test_without_a_file_the_public_hosts_are_asked_and_places_are_the_users():
    settings = read_settings(None, {"XDG_CACHE_HOME": "/c", "XDG_DATA_HOME": "/d"})
    assert settings.host_of("nasa power") == (HOSTS["nasa power"], "")
    assert settings.folder == Path("/c/etsched/weather")
    assert settings.database == "sqlite:////d/etsched/etsched.db"
    assert settings.backups_kept_in == "/d/etsched/backups"
    assert (settings.web.host, settings.web.port) == ("127.0.0.1", 8470)


def test_the_example_is_read_and_its_addresses_outrank_the_defaults():
    settings = read_settings(EXAMPLE, {})
    assert settings.host_of("rain gauge")[0].startswith("https://gauges.example.org/")
    assert settings.host_of("nws grid") == ("https://api.weather.gov", "")
    assert settings.contact == "grounds@example.org"


def test_what_the_example_states_as_a_default_is_the_default():
    example, defaults = read_settings(EXAMPLE, {}), read_settings(None, {})
    for table in ("web", "jobs", "retention", "log_level"):
        assert getattr(example, table) == getattr(defaults, table)


def test_the_example_names_every_key_outside_the_feeds():
    text = EXAMPLE.read_text("utf-8")
    for name, _, _ in read_with_origins(None, {}).shown():
        table, _, key = name.rpartition(".")
        if not name.startswith("feed."):
            assert f"\n{key} = " in text or f"\n# {key} = " in text, name
            assert not table or f"[{table}]" in text


def test_the_environment_names_the_file_and_holds_the_keys(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text('[feed."open-meteo forecast"]\nbase_url = "https://paid"\napi_key = "in-file"\n', encoding="utf-8")
    named = {"ETSCHED_SETTINGS": str(path)}
    settings = read_settings(None, named)
    assert settings.host_of("open-meteo forecast") == ("https://paid", "in-file")
    assert "in-file" not in repr(settings)
    short = named | {"ETSCHED_KEY_OPEN_METEO_FORECAST": "from-env"}
    assert read_settings(None, short).host_of("open-meteo forecast") == ("https://paid", "from-env")
    long = short | {"ETSCHED_FEED_OPEN_METEO_FORECAST_API_KEY": "by-the-rule"}
    assert read_settings(None, long).host_of("open-meteo forecast") == ("https://paid", "by-the-rule")


def test_one_rule_names_every_value_in_the_environment(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text('contact = "file"\n[web]\nport = 9000\nhost = "10.0.0.1"\n', encoding="utf-8")
    environment = {
        "ETSCHED_WEB_PORT": "9001",
        "ETSCHED_JOBS_CLOSE_DAY": "02:15",
        "ETSCHED_WEB_TRUSTED_PROXIES": "10.0.0.0/8, fd00::/8",
        "ETSCHED_DATABASE": "sqlite:///x.db",
        "ETSCHED_CONTACT": "",
    }
    settings = read_settings(path, environment)
    assert (settings.web.port, settings.web.host) == (9001, "10.0.0.1")
    assert settings.jobs.close_day == time(2, 15)
    assert settings.web.trusted_proxies == (ip_network("10.0.0.0/8"), ip_network("fd00::/8"))
    assert (settings.database, settings.contact) == ("sqlite:///x.db", "file")


def test_a_network_for_webhooks_is_opened_by_the_file_alone(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text('webhook_networks = ["10.20.0.0/16"]\n', encoding="utf-8")
    assert read_settings(path, {}).webhook_networks == (ip_network("10.20.0.0/16"),)
    named = "ETSCHED_WEBHOOK_NETWORKS"
    assert read_settings(path, {named: ""}).webhook_networks == (ip_network("10.20.0.0/16"),)  # as if it were not set
    with pytest.raises(SettingsRefused, match="in the settings file alone"):
        read_settings(path, {named: "10.20.0.0/16"})


def test_every_value_tells_where_it_came_from_and_no_secret(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text('[web]\nport = 9000\n[feed."nasa power"]\napi_key = "in-file"\n', encoding="utf-8")
    environment = {"ETSCHED_DATABASE": "postgresql://ann:s3:cr@et@db/x?sslpassword=hid", "ETSCHED_WEB_PROT": "1"}
    read = read_with_origins(path, environment)
    shown = {name: (value, origin) for name, value, origin in read.shown()}
    assert shown["web.port"] == ("9000", f"{path}, line 2")
    assert shown["web.host"] == ("127.0.0.1", "default")
    assert shown["database"] == ("postgresql://ann:***@db/x?sslpassword=***", "ETSCHED_DATABASE")
    assert shown["feed.nasa power.api_key"] == ("***", f"{path}, line 4")
    assert shown["feed.nws grid.api_key"] == ("", "default")
    assert shown["jobs.plan_tonight"] == ("17:00", "default")
    assert read.unknown == ("ETSCHED_WEB_PROT",)
    assert "s3" not in repr(read.settings)


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("WEB_PORT", "high", "ETSCHED_WEB_PORT, web.port: it is no whole number; see config/settings.toml"),
        ("WEB_PORT", "0", "ETSCHED_WEB_PORT, web.port: it is too low; write 1 or more."),
        ("WEB_PORT", "65536", "ETSCHED_WEB_PORT, web.port: it is too high; write 65,535 or less."),
        ("JOBS_CLOSE_DAY", "24:00", "jobs.close_day: it is no time of day; write it as 05:30."),
        ("JOBS_PLAN_TONIGHT", "16:00", "jobs: the times are out of order; let refresh_morning come first"),
        ("LOG_LEVEL", "loud", "log_level: there is no such word for it; write one of 'error', 'warning', 'info' or"),
        ("WEB_TRUSTED_PROXIES", "10.0.0.1/8", 'trusted_proxies: an entry is no network; write networks as ["10.1'),
        (
            "WEBHOOK_NETWORKS",
            "10.0.0.0/8",
            "ETSCHED_WEBHOOK_NETWORKS, webhook_networks: it is set in the settings file alone; take it out of the env",
        ),
    ],
)
def test_a_bad_value_of_the_environment_gets_a_sentence(name, value, sentence):
    with pytest.raises(SettingsRefused) as refused:
        read_settings(None, {f"ETSCHED_{name}": value})
    assert sentence in str(refused.value)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("\n\ncontact = 3", "s.toml, line 3, contact: it is no text; see config/settings.toml for what can be set."),
        ("colour = 'red'", "colour: there is no such key; see config/settings.toml for what can be set."),
        ("[feed.mars]\nbase_url = 'x'", "feed.mars: there is no such feed; write one of rain gauge, agronomic station"),
        ("contact = ", "this is no TOML ("),
        ("a = " + "[" * 5000, "this is no TOML ("),
        ("web = 3", "line 1, web: it is no table;"),
        ("feed = 3", "line 1, feed: it is no table;"),
        ("[web]\nport = '9000'", "line 2, web.port: it is no whole number;"),
        ("[web]\nport = 0", "line 2, web.port: it is too low; write 1 or more."),
        ("webhook_networks = '10.0.0.0/8'", 'webhook_networks: it is no list of networks; write it as ["10.1.0.0/16"]'),
        ("[jobs]\nclose_day = 5", "line 2, jobs.close_day: it is no time of day; write it as 05:30."),
        ("[feed.'nasa power']\nurl = 'x'", "feed.nasa power.url: there is no such key"),
    ],
)
def test_a_bad_file_gets_a_sentence(tmp_path, text, sentence):
    path = tmp_path / "s.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsRefused) as refused:
        read_settings(path, {})
    assert sentence in str(refused.value)


def test_a_file_that_is_not_there():
    with pytest.raises(SettingsRefused, match=r"nowhere\.toml: the file cannot be read"):
        read_settings(Path("nowhere.toml"), {})
