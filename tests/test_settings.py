"""Service settings: defaults, the file, the environment, and what is wrong with them."""

from pathlib import Path

import pytest

from etsched.errors import SettingsRefused
from etsched.settings import HOSTS, read_settings

EXAMPLE = Path(__file__).parents[1] / "config" / "settings.toml"


def test_without_a_file_the_public_hosts_are_asked():
    settings = read_settings(None, {})
    assert settings.host_of("nasa power", {}) == (HOSTS["nasa power"], "")
    assert settings.folder({"XDG_CACHE_HOME": "/c"}) == Path("/c/etsched/weather")


def test_the_example_is_read_and_its_addresses_outrank_the_defaults():
    settings = read_settings(EXAMPLE, {})
    assert settings.host_of("rain gauge", {})[0].startswith("https://gauges.example.org/")
    assert settings.host_of("nws grid", {}) == ("https://api.weather.gov", "")
    assert settings.contact == "grounds@example.org"


def test_the_environment_names_the_file_and_holds_the_keys(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text('[feed."open-meteo forecast"]\nbase_url = "https://paid"\napi_key = "in-file"\n', encoding="utf-8")
    settings = read_settings(None, {"ETSCHED_SETTINGS": str(path)})
    assert settings.host_of("open-meteo forecast", {}) == ("https://paid", "in-file")
    environment = {"ETSCHED_KEY_OPEN_METEO_FORECAST": "from-env"}
    assert settings.host_of("open-meteo forecast", environment) == ("https://paid", "from-env")
    assert "in-file" not in repr(settings)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("contact = 3", "contact: it is no text; see config/settings.toml for what can be set."),
        ("colour = 'red'", "colour: there is no such key; see config/settings.toml for what can be set."),
        ("[feed.mars]\nbase_url = 'x'", "feed.mars: there is no such feed; write one of rain gauge, agronomic station"),
        ("contact = ", "this is no TOML ("),
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
