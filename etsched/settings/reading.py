"""Settings are read from a TOML file, then from the environment, and each remembers where its value came from.

One rule names the environment: ETSCHED_ and the key's path in capitals, joined by _, as in ETSCHED_WEB_PORT for
`port` in `[web]`. A feed's key may also be called ETSCHED_KEY_ and the feed, as in ETSCHED_KEY_OPEN_METEO_FORECAST.
What lets webhooks into a network that is not public is set in the file alone.
"""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass
from datetime import time
from pathlib import Path
from typing import TYPE_CHECKING, get_origin

from pydantic import SecretStr, ValidationError

from etsched.documents.lines import line_of
from etsched.errors import Problem, SettingsRefused
from etsched.settings.values import HOSTS, HostSettings, Settings, Table

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pydantic_core import ErrorDetails

ENVIRONMENT_FILE = "ETSCHED_SETTINGS"  # names the settings file
# Names that begin like a setting and are for the scripts around the program.
_NO_SETTINGS = {ENVIRONMENT_FILE, "ETSCHED_PYTHON", "ETSCHED_TEST_POSTGRESQL"}
# Whoever may set the environment of a process may not open a network by it.
_IN_THE_FILE_ALONE = {("webhook_networks",)}
_SEE = "see config/settings.toml for what can be set"
_PASSWORD = re.compile(r"(://[^/@:]*:)[^/]*(?=@)|([?&][a-z]*password=)[^&]*")

KeyPath = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReadSettings:
    """Settings, where each value came from by its dotted key, and names of the environment that mean nothing."""

    settings: Settings
    origins: dict[KeyPath, str]
    unknown: tuple[str, ...]

    def shown(self) -> Iterator[tuple[str, str, str]]:
        """Give every key with its value as a person may see it and its origin."""
        for path, _ in _leaves():
            value: object = self.settings
            for part in path:
                value = value.get(part, HostSettings()) if isinstance(value, dict) else getattr(value, part)
            if path[0] == "feed" and path not in self.origins:
                value = HOSTS[path[1]] if path[-1] == "base_url" else ""
            yield ".".join(path), _visible(value), self.origins.get(path, "default")


def read_settings(path: Path | None, environment: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings file that is named, else the one the environment names, else the defaults.

    Raises SettingsRefused with every problem.
    """
    return read_with_origins(path, environment).settings


def read_with_origins(path: Path | None, environment: Mapping[str, str] = os.environ) -> ReadSettings:
    """Read settings and say where each value came from. Raises SettingsRefused with every problem."""
    named = path or (Path(environment[ENVIRONMENT_FILE]) if environment.get(ENVIRONMENT_FILE) else None)
    text, document = ("", {}) if named is None else _from_file(named)
    origins = {
        leaf: f"{named}, line {line_of(text, leaf)}" for leaf, _ in _leaves() if _stands(document, leaf)
    }
    for leaf, kind in _leaves():
        for name in _names(leaf):
            if environment.get(name):
                if leaf in _IN_THE_FILE_ALONE:
                    wrong, remedy = "it is set in the settings file alone", "take it out of the environment"
                    raise SettingsRefused([Problem(name, None, ".".join(leaf), wrong, remedy)])
                _lay(document, leaf, _typed(environment[name], kind))
                origins[leaf] = name
    try:
        settings = Settings.model_validate(document)
    except ValidationError as error:
        faults = error.errors(include_url=False, include_input=False)
        raise SettingsRefused(_problem(fault, origins, named, text) for fault in faults) from None
    strange = sorted(set(settings.feed) - set(HOSTS))
    if named is not None and strange:
        where = line_of(text, ("feed", strange[0]))
        remedy = f"write one of {', '.join(HOSTS)}"
        raise SettingsRefused([Problem(str(named), where, f"feed.{strange[0]}", "there is no such feed", remedy)])
    known = _NO_SETTINGS | {name for leaf, _ in _leaves() for name in _names(leaf)}
    unknown = sorted(name for name in environment if name.startswith("ETSCHED_") and name not in known)
    return ReadSettings(_with_places(settings, environment), origins, tuple(unknown))


def _from_file(named: Path) -> tuple[str, dict[str, object]]:
    try:
        text = named.read_text(encoding="utf-8-sig")
        return text, tomllib.loads(text)
    except OSError as error:
        wrong = f"the file cannot be read ({error.strerror})"
        raise SettingsRefused([Problem(str(named), None, "", wrong, "name a file that exists")]) from None
    except (ValueError, RecursionError) as error:
        wrong = f"this is no TOML ({error})"
        raise SettingsRefused([Problem(str(named), None, "", wrong, "mend that place")]) from None


def _with_places(settings: Settings, environment: Mapping[str, str]) -> Settings:
    """Fill the places that depend on whose machine this is, by the XDG base directory specification."""
    home = Path.home()
    cache = Path(environment.get("XDG_CACHE_HOME") or home / ".cache") / "etsched"
    data = Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share") / "etsched"
    places = {
        "database": f"sqlite:///{data / 'etsched.db'}",
        "weather_kept_in": str(cache / "weather"),
        "backups_kept_in": str(data / "backups"),
    }
    return settings.model_copy(update={key: at for key, at in places.items() if not getattr(settings, key)})


def _leaves(table: type[Table] = Settings, above: KeyPath = ()) -> Iterator[tuple[KeyPath, object]]:
    """Give the path and the kind of every value that can be set."""
    for name, field in table.model_fields.items():
        kind = field.annotation
        if name == "feed":
            for feed in HOSTS:
                yield from _leaves(HostSettings, ("feed", feed))
        elif isinstance(kind, type) and issubclass(kind, Table):
            yield from _leaves(kind, (*above, name))
        else:
            yield (*above, name), kind


def _names(leaf: KeyPath) -> list[str]:
    """Give the names a value has in the environment, the one that outranks the others last."""
    plain = [re.sub(r"[^A-Z0-9]", "_", part.upper()) for part in leaf]
    older = [f"ETSCHED_KEY_{plain[1]}"] if leaf[-1] == "api_key" else []
    return [*older, "_".join(("ETSCHED", *plain))]


def _typed(text: str, kind: object) -> object:
    """Turn a text of the environment into what TOML would have given; what does not fit stays text and is refused."""
    if kind is int:
        return int(text) if re.fullmatch(r"\d{1,9}", text) else text
    if get_origin(kind) is tuple:
        return [part.strip() for part in text.split(",")]
    return text


def _stands(document: object, leaf: KeyPath) -> bool:
    for part in leaf:
        if not isinstance(document, dict) or part not in document:
            return False
        document = document[part]
    return True


def _lay(document: dict[str, object], leaf: KeyPath, value: object) -> None:
    for part in leaf[:-1]:
        inner = document.setdefault(part, {})
        if not isinstance(inner, dict):
            return  # the file holds a value where a table belongs, and is refused for it
        document = inner
    document[leaf[-1]] = value


def _problem(fault: ErrorDetails, origins: dict[KeyPath, str], named: Path | None, text: str) -> Problem:
    path = tuple(map(str, fault["loc"]))
    wrong, remedy = _words(fault)
    field = ".".join(path)
    origin = origins.get(path, "")
    if origin.startswith("ETSCHED_") or named is None:
        return Problem(origin or "the environment", None, field, wrong, remedy)
    return Problem(str(named), line_of(text, path), field, wrong, remedy)


_WRONG = {
    "extra_forbidden": "there is no such key",
    "string_type": "it is no text",
    "int_type": "it is no whole number",
    "model_type": "it is no table",
    "dict_type": "it is no table",
}


def _words(fault: ErrorDetails) -> tuple[str, str]:
    kind, context = fault["type"], fault.get("ctx", {})
    if kind == "value_error":
        wrong, _, remedy = str(context["error"]).partition(", ")
        return wrong, remedy
    if kind == "literal_error":
        return "there is no such word for it", f"write one of {context['expected']}"
    if kind in {"greater_than_equal", "less_than_equal"}:
        bound, low = (context.get("ge"), True) if "ge" in context else (context.get("le"), False)
        return f"it is too {'low' if low else 'high'}", f"write {bound:,} or {'more' if low else 'less'}"
    return _WRONG.get(kind, "it does not fit"), _SEE


def _visible(value: object) -> str:
    """Write a value for people; a secret shows that it is there and nothing more."""
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, SecretStr):
        return "***" if value.get_secret_value() else ""
    return _PASSWORD.sub(lambda found: f"{found[1] or found[2]}***", str(value))
