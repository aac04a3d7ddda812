"""The NOAA service for GHCN-Daily: an array of days whose values are text, and whose gaps are missing keys."""

from __future__ import annotations

from datetime import date, timedelta

from .exchange import Ask, Feed, Reply, World, as_json, json_reply
from .ground import Instrument, days_known
from .weather import TRUTH, drivers, spot_at

PATH = "/access/services/data/v1"
LAG_DAYS = 2  # own choice
ELEMENTS = ("TMAX", "TMIN", "PRCP", "AWND", "MDPR", "DAPR")
# The first is an airport that reads at midnight and has wind; the second an observer who reads at seven and not on
# every weekend. Both are invented; the third bears the number of a real station, as an address that asks in examples.
STATIONS = {
    station.identifier: station
    for station in (
        Instrument("USW00099901", "COBBLE FERRY AIRPORT", 37.4, -119.9),
        Instrument("USC00999902", "COBBLE FERRY MILL", 37.4, -119.9, day_ends_h=7),
        Instrument("USW00023062", "DENVER", 39.8, -104.9),
    )
}
_ABSURD = 850
Row = dict[str, str]


class _Refused(Exception):
    """A question that is answered with status 400: field and message."""


def trouble(status: int) -> Reply:
    """Tell that the service cannot answer; the shape is from memory, to be verified."""
    words = "Too Many Requests" if status == 429 else "Service Unavailable"
    return json_reply({"errorMessage": words, "errorCode": status, "errors": []}, status)


def answer(ask: Ask, world: World) -> Reply:
    """Answer one request for the days of stations."""
    if ask.path != PATH:
        return json_reply({"errorMessage": "Not Found", "errorCode": 404, "errors": []}, 404)
    try:
        rows = _rows(ask, world)
    except _Refused as refused:
        field, message = refused.args
        errors = [{"field": field, "message": message, "value": ask.query.get(field)}]
        return json_reply({"errorMessage": "Bad Request", "errorCode": 400, "errors": errors}, 400)
    return Reply(200, as_json(rows))


def _date(ask: Ask, field: str) -> date:
    try:
        return date.fromisoformat(ask.query.get(field, ""))
    except ValueError:
        raise _Refused(field, "A valid date such as 2026-06-01 is required") from None


def _rows(ask: Ask, world: World) -> list[Row]:
    """Check the question and give its rows, station by station; a station nobody knows has none."""
    for field, known in (("dataset", {"daily-summaries"}), ("format", {"json"}), ("units", {"metric", None})):
        if ask.query.get(field) not in known:  # the service also knows csv and US units; this server does not
            raise _Refused(field, f"The {field} is not supported")
    if not ask.list_of("stations"):
        raise _Refused("stations", "At least one station is required")
    first, last = _date(ask, "startDate"), _date(ask, "endDate")
    if last < first:
        raise _Refused("endDate", "The end date lies before the start date")
    wanted = ask.list_of("dataTypes") or list(ELEMENTS)
    is_metric = ask.query.get("units") == "metric" and world.fault != "wrong-units"
    has_attributes = ask.query.get("includeAttributes") == "true"
    found: list[Row] = []
    for station in (STATIONS[name] for name in ask.list_of("stations") if name in STATIONS):
        rows = []
        for day in days_known(first, last, LAG_DAYS, world):
            told = {} if world.fault == "all-null" else _elements(station, world, day)
            row = {"DATE": day.isoformat(), "STATION": station.identifier}
            for name in (name for name in wanted if name in told):
                row[name] = _text(told[name][0], is_metric=is_metric and name != "DAPR")
                if has_attributes:
                    row[f"{name}_ATTRIBUTES"] = told[name][1]
            rows.append(row)
        found += _spoiled(rows, world.fault, _text(_ABSURD, is_metric=is_metric))
    return found


def _text(tenths: int, *, is_metric: bool) -> str:
    return f"{tenths / 10:.1f}" if is_metric else str(tenths)


def _elements(station: Instrument, world: World, day: date) -> dict[str, tuple[int, str]]:
    """Values of a day in tenths, with their marks: MFLAG, QFLAG, SFLAG and, for an observer, the hour."""
    hours = station.hours(world, day)
    is_airport = station.identifier.startswith("USW")
    end = ",,W" if is_airport else ",,7,0700"
    warmest = round(10 * max(hour.temperature_c for hour in hours))
    found = {
        "TMAX": (warmest, end),
        "TMIN": (round(10 * min(hour.temperature_c for hour in hours)), end),
        "PRCP": _rain(station, world, day),
    }
    if station.luck(world, day, "TMAX") < 1 / 40:  # fails the service's own check
        found["TMAX"] = (warmest + 150, end.replace(",,", ",I,", 1))
    if is_airport and station.luck(world, day, "AWND") > 1 / 20:
        found["AWND"] = (round(10 * sum(hour.wind_10m_m_s for hour in hours[:24]) / 24), ",,W")
    if not is_airport and _is_gathered(day):
        del found["PRCP"]
    if not is_airport and _is_gathered(day - timedelta(days=1)) and day.weekday() == 0:
        gathered = [station.rain_mm(world, day - timedelta(days=back)) for back in range(3)]
        del found["PRCP"]
        found |= {"MDPR": (round(10 * sum(gathered)), end), "DAPR": (3, end)}
    return found


def _is_gathered(day: date) -> bool:
    """Say whether nobody reads: on the first Saturday of a month and the Sunday after it."""
    saturday = day - timedelta(days=day.weekday() - 5)
    return day.weekday() >= 5 and saturday.day <= 7


def _rain(station: Instrument, world: World, day: date) -> tuple[int, str]:
    """Rain in tenths of a millimetre; a dull dry day may leave a trace, which is told as 0 with a mark."""
    tenths = round(10 * station.rain_mm(world, day))
    is_airport = station.identifier.startswith("USW")
    end = ",,W,2400" if is_airport else ",,7,0700"
    spot = spot_at(world.seed, station.latitude_deg, station.longitude_deg)
    is_dull = drivers(spot, TRUTH, day.toordinal()).clearness < 0.9
    if tenths == 0 and is_dull and station.luck(world, day, "PRCP") < 1 / 2:
        return 0, f"T{end}"
    return tenths, end


def _spoiled(rows: list[Row], fault: str, absurd: str) -> list[Row]:
    """Make the faults that leave the answer's shape whole."""
    hot = [row for row in rows if "TMAX" in row]
    if fault == "spike" and hot:
        hot[len(hot) // 2]["TMAX"] = absurd
        hot[len(hot) // 2].pop("TMAX_ATTRIBUTES", None)
    if fault == "doubled-days":
        return rows[:2] + rows[1:]
    return rows


HOSTS = {"ghcn": Feed(answer, trouble)}
