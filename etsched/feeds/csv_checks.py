"""What cannot be true of a day or an hour although each of its numbers could: two columns that contradict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.core.atmosphere import saturation_vapour_pressure
from etsched.errors import WeatherRefused

if TYPE_CHECKING:
    import pandas as pd

    from etsched.errors import Problem
    from etsched.feeds.csv_table import Table

# Rounding and two sensors may put the dew point so far above the temperature. Own limit.
_SENSOR_ERROR_C = 2.0
# Five days of so much sun, none of them warmer than this, are the sign of °C read as °F: they do not come where
# turf is watered. Own limits, no source.
_MUCH_SUN_MJ_M2_D, _COLD_C, _SUNNY_DAYS = 27.0, 5.0, 5


def check_columns(table: Table, frame: pd.DataFrame, rows: pd.Series[int]) -> None:
    """Refuse rows whose columns contradict each other.

    Parameters
    ----------
    table : Table
        The file.
    frame : DataFrame
        Daily or hourly, as `etsched.frames.weather` lists the columns.
    rows : Series
        The file's row for each entry of the frame's index.

    Raises
    ------
    WeatherRefused
        With the lines on which they stand.
    """
    warmest = frame["temperature_c" if table.hourly else "tmax_c"]
    # No air holds more vapour than saturates it at the warmest moment, to the error of the sensors.
    most = saturation_vapour_pressure(warmest.to_numpy() + _SENSOR_ERROR_C)
    warm = "temperature" if table.hourly else "tmax"
    pairs = [("dewpoint", frame["dewpoint_c"] > warmest + _SENSOR_ERROR_C, warm)]
    pairs += [("vapour_pressure", frame["vapour_pressure_kpa"] > most, warm)]
    if not table.hourly:
        pairs += [("tmin", frame["tmin_c"] > warmest, "tmax")]
        pairs += [("rh_min", frame["rh_min_pct"] > frame["rh_max_pct"], "rh_max")]
    problems: list[Problem] = []
    for key, wrong, other in pairs:
        problems += _contradictions(table, frame, rows[wrong.to_numpy()], (key, other))
    if problems:
        raise WeatherRefused(sorted(problems, key=lambda problem: problem.line or 0))


def _contradictions(table: Table, frame: pd.DataFrame, rows: pd.Series[int], keys: tuple[str, str]) -> list[Problem]:
    when = dict(zip(rows.tolist(), rows.index, strict=True))

    def say(row: int) -> tuple[str, str]:
        said = []
        for key in keys:
            name = table.frame_column(key)
            said.append(f"{key} {frame.loc[when[row], name]:.4g} {table.own(key)}")
        return (
            f"{said[0]} does not go with {said[1]}",
            "correct the cells, or the column mapping",
        )

    return table.cells.at_rows(list(when), table.heading(keys[0]) if when else "", say)


def check_warmth(table: Table, daily: pd.DataFrame) -> None:
    """Refuse days of much sun that are as cold as only a wrong unit makes them. Raises WeatherRefused."""
    sunny = daily["solar_mj_m2_d"] >= _MUCH_SUN_MJ_M2_D
    warmest = daily["tmax_c"].where(sunny).max()
    if sunny.sum() < _SUNNY_DAYS or not warmest <= _COLD_C:
        return
    wrong = (
        f"{sunny.sum()} days have {_MUCH_SUN_MJ_M2_D:g} MJ/m^2 of sun or more, and the warmest of them has "
        f"{round(warmest, 1) + 0.0:.1f} degC"
    )
    heading = table.heading("temperature" if table.hourly else "tmax")
    remedy = "correct the unit of the temperatures or of the sun in the column mapping"
    raise WeatherRefused([table.cells.at_heading(heading, wrong, remedy)])
