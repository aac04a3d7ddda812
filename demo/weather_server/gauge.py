"""The property's own rain gauge: `/ID.csv`, a file `date,rain_in`, one row a day of the standard clock."""

from __future__ import annotations

from datetime import date, timedelta

from .exchange import Ask, Feed, Reply, World, json_reply
from .ground import Instrument, days_known

CSV = "text/csv; charset=utf-8"
GAUGES = {"grange": Instrument("grange", "Thistledown Grange", 37.4, -119.9)}
_USUAL_DAYS = 45
_LAG_DAYS = 1
_ABSURD_IN = 40.0


def trouble(status: int) -> Reply:
    """Tell that the file cannot be had."""
    return json_reply({"error": "too many requests" if status == 429 else "not available"}, status)


def answer(ask: Ask, world: World) -> Reply:
    """Answer one download; `?start=2026-06-01&end=2026-06-30` narrow the days, which are the last 45 otherwise."""
    gauge = GAUGES.get(ask.path.strip("/").removesuffix(".csv"))
    if gauge is None or not ask.path.endswith(".csv"):
        return json_reply({"error": "no such file"}, 404)
    try:
        last = date.fromisoformat(ask.query.get("end", str(world.today)))
        first = date.fromisoformat(ask.query.get("start", str(last - timedelta(days=_USUAL_DAYS))))
    except (ValueError, OverflowError):
        return json_reply({"error": "start and end must be dates such as 2026-06-01"}, 400)
    days = days_known(first, last, _LAG_DAYS, world)
    rows = [[str(day), "" if world.fault == "all-null" else f"{gauge.rain_mm(world, day) / 25.4:.2f}"] for day in days]
    if world.fault == "spike" and rows:
        rows[len(rows) // 2][1] = f"{_ABSURD_IN:.2f}"
    if world.fault == "doubled-days":
        rows = rows[:2] + rows[1:]
    if world.fault == "unequal-arrays" and rows:
        rows[-1].pop()
    heading = "date,rain_mm" if world.fault == "wrong-units" else "date,rain_in"
    return Reply(200, "".join(f"{line}\n" for line in (heading, *map(",".join, rows))).encode(), CSV)


HOSTS = {"gauge": Feed(answer, trouble)}
