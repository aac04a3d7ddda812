"""Weather as text and back: JSON in which a plan finds every number again as it was."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Any

from etsched.frames.provenance import Origin
from etsched.frames.weather import DayRemark, Weather, stamps

if TYPE_CHECKING:
    import pandas as pd

_FRAMES = ("daily", "hourly", "extra", "spread")


def weather_text(weather: Weather) -> str:
    """Write a weather with its provenance; what nobody measured is null."""
    frames = {name: getattr(weather, name) for name in _FRAMES}
    document = {name: None if frame is None else _frame_out(frame) for name, frame in frames.items()}
    origin = None if weather.origin is None else asdict(weather.origin)
    rest = {
        "source": weather.source,
        "notes": weather.notes,
        "origin": origin,
        "remarks": [asdict(remark) for remark in weather.remarks],
        "attributions": weather.attributions,
    }
    return json.dumps(document | rest, sort_keys=True, ensure_ascii=False, allow_nan=False, default=_moment)


def weather_from_text(text: str) -> Weather:
    """Read what `weather_text` wrote."""
    document = json.loads(text)
    rest = {name: None if document[name] is None else _frame_in(document[name]) for name in _FRAMES if name != "daily"}
    origin = document["origin"]
    if origin is not None:
        for name in ("fetched", "issued"):
            origin[name] = None if origin[name] is None else datetime.fromisoformat(origin[name])
    remarks = (
        DayRemark(each["grade"], tuple(each["reasons"]), tuple(each["sources"])) for each in document["remarks"]
    )
    return Weather(
        _frame_in(document["daily"]),
        **rest,
        source=document["source"],
        notes=tuple(document["notes"]),
        origin=None if origin is None else Origin(**origin),
        remarks=tuple(remarks),
        attributions=tuple(document["attributions"]),
    )


def _moment(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    raise TypeError(f"weather holds {value!r}, which has no text")


def _frame_out(frame: pd.DataFrame) -> dict[str, Any]:
    index = stamps(frame)
    columns = {str(name): _values(frame[name].tolist()) for name in frame.columns}
    order = [str(name) for name in frame.columns]
    return {
        "index": [stamp.isoformat() for stamp in index],
        "index_name": index.name,
        "index_unit": index.unit,
        "order": order,
        "columns": columns,
    }


def _values(column: list[Any]) -> list[Any]:
    return [None if isinstance(value, float) and math.isnan(value) else value for value in column]


def _frame_in(kept: dict[str, Any]) -> pd.DataFrame:
    import pandas as pd

    moments = pd.to_datetime(kept["index"], format="ISO8601").as_unit(kept["index_unit"])
    index = pd.DatetimeIndex(moments, name=kept["index_name"])
    frame = pd.DataFrame({name: kept["columns"][name] for name in kept["order"]}, index=index)
    return frame.astype({name: bool if name == "is_forecast" else float for name in kept["order"]})
