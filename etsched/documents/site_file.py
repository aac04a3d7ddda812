"""The site file: one property as its manager describes it, in TOML."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from etsched.documents import site_checks
from etsched.documents.lines import line_of
from etsched.documents.site_faults import field_name, sentence
from etsched.documents.site_model import NewTurfIn, PlaceIn, SiteIn, StationIn, Strict, WateringIn
from etsched.documents.toml_text import parse_toml, read_text
from etsched.errors import Problem, SiteRefused
from etsched.model.site import FeedChoice, Site
from etsched.units import UnitSystem

if TYPE_CHECKING:
    from pathlib import Path

M = TypeVar("M", bound=Strict)


def read_site(path: Path) -> Site:
    """Read a site file.

    Parameters
    ----------
    path : Path
        A TOML file in UTF-8.

    Returns
    -------
    Site
        The property, every number in its canonical unit, stations in order of terminal.

    Raises
    ------
    SiteRefused
        With every problem of the file, in the order of its lines.
    """
    return parse_site(read_text(path), str(path))


def parse_site(text: str, name: str) -> Site:
    """Read the text of a site file; `name` is what problems call it. Raises as `read_site` does."""
    document = parse_toml(text.removeprefix("\ufeff"), name)
    troubles: list[site_checks.Trouble] = []
    site = None
    try:
        site = SiteIn.model_validate(document)
    except ValidationError as error:
        troubles += [(fault["loc"], *sentence(fault)) for fault in error.errors(include_url=False)]
    troubles += _contradictions(document)
    if troubles or site is None:
        raise SiteRefused(_problems(troubles, document, text, name))
    return _as_site(site)


def _contradictions(document: Mapping[str, Any]) -> Iterator[site_checks.Trouble]:
    """Look at every part of the file that can be read, also where others cannot: all is told at once."""
    tables = document.get("station")
    tables = tables if isinstance(tables, list) else []
    units: UnitSystem = "metric" if document.get("units") == "metric" else "us"
    read = {index: _read(StationIn, table) for index, table in enumerate(tables)}
    stations = {index: station for index, station in read.items() if station is not None}
    yield from site_checks.terminals_once(tables)
    if place := _read(PlaceIn, document.get("place")):
        yield from site_checks.place_agrees(place)
    if watering := _read(WateringIn, document.get("watering")):
        yield from site_checks.window_holds_a_cycle(watering, stations)
        yield from site_checks.flows_fit(watering, stations, units)
    if new_turf := _read(NewTurfIn, document.get("new_turf")):
        yield from site_checks.light_hours_hold_a_run(new_turf, stations)
        if watering:
            yield from site_checks.light_hours_lie_outside_the_window(new_turf, watering)
    yield from site_checks.bans_name_stations(document.get("ban"), tables)
    for index, station in stations.items():
        yield from site_checks.station_agrees(index, station, units)


def _read(model: type[M], table: object) -> M | None:
    try:
        return model.model_validate(table)
    except ValidationError:
        return None


def _problems(troubles: list[site_checks.Trouble], document: Mapping[str, Any], text: str, name: str) -> list[Problem]:
    found = [
        Problem(name, line_of(text, path), field_name(path, document), wrong, remedy)
        for path, wrong, remedy in troubles
    ]
    return sorted(found, key=lambda problem: (problem.line or 0, problem.field, problem.wrong))


def _as_site(site: SiteIn) -> Site:
    stations = sorted((station.as_station() for station in site.station), key=lambda each: each.terminal)
    return Site(
        name=site.name,
        place=site.place.as_place(),
        rules=site.watering.as_rules(),
        stations=tuple(stations),
        units=site.units,
        target_depth_mm=site.target_depth,
        multiplier_rule=site.multiplier_rule,
        rain_rule=site.rain_rule,
        crop_set=site.crop_set,
        notes=tuple(site.notes),
        feeds=tuple(FeedChoice(link.feed, link.station or "", link.file or "") for link in site.weather),
        climate=str(site.climate),
        et_formula=site.et_formula,
        controller=site.controller.as_controller() if site.controller else None,
        bans=tuple(ban.as_ban() for ban in site.ban),
        hold_limits=site.hold.as_limits() if site.hold else None,
        restrictions=tuple(each.as_restriction() for each in site.restriction),
        new_turf=site.new_turf.as_hours() if site.new_turf else None,
        water_price=site.water.price if site.water else None,
    )
