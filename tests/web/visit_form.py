"""A record of a visit as a technician would type it into the form: each value under the name of its field."""

from __future__ import annotations

import tomllib


def typed(document: str) -> dict[str, str]:
    """Give what stands in the fields when a record is filled in, by hand and not by the program's own reading."""
    record = tomllib.loads(document)
    form: dict[str, str] = {}
    visit = {key: record[key] for key in ("date", "technician", "notes", "photos") if key in record}
    tables = {"visit": [visit], **{key: _rows(record, key) for key in _TABLES}}
    for table, rows in tables.items():
        for at, row in enumerate(rows):
            prefix = table if table in _ONCE else f"{table}.{row['station'] if table == 'run' else at}"
            for key, value in row.items():
                if (table, key) != ("run", "station"):
                    _type(form, f"{prefix}.{key}", value)
    return form


_TABLES = ("clock", "program", "area", "run", "head", "electrical", "cups", "core", "meter", "salts", "recovery")
_ONCE = ("visit", "clock", "salts", "recovery")
# What the record says in other words than the form's lists.
_SAID = {
    "scattered patches": "scattered sharp patches",
    "arcs round heads": "arc by head",
    "probe stops": "probe stops in brown",
}
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def _rows(record, key):
    rows = record.get(key, [])
    return rows if isinstance(rows, list) else [rows]


def _type(form: dict[str, str], name: str, value) -> None:
    last = name.rpartition(".")[2]
    if last in _OWN_WAYS:
        _OWN_WAYS[last](form, name, value)
    elif isinstance(value, dict):
        for key, each in value.items():
            _type(form, f"{name}.{key}", each)
    elif isinstance(value, list):
        _list(form, name, value)
    elif value == "open":
        form[f"{name}.or"] = value
    else:
        form[name] = _SAID.get(str(value)) or _text(last, value)


def _lines(form, name, value):
    form[name] = "\n".join(value)


def _days(form, name, value):
    form.update({f"{name}.{_DAYS.index(day)}": day for day in value})


def _wet(form, name, value):
    form[f"{name}.1"] = value[0]


def _signs(form, name, value):
    form.update({f"{name}.{at}": _SAID.get(each, each) for at, each in enumerate(value)})


def _insects(form, name, value):
    ((form[f"{name}.kind"], form[f"{name}.count"]),) = ((kind, str(count)) for kind, count in value.items())


def _cups(form, name, value):
    cups = ((row, at, cup) for row, caught in enumerate(value) for at, cup in enumerate(caught))
    form.update({f"{name}.{row}.{at}": "" if cup == "tipped" else str(cup) for row, at, cup in cups})
    form[name.replace("rows", "grid_rows")] = str(len(value))
    form[name.replace("rows", "grid_across")] = str(len(value[0]))


_OWN_WAYS = {
    "notes": _lines,
    "photos": _lines,
    "days": _days,
    "wet": _wet,
    "signs": _signs,
    "insects": _insects,
    "rows": _cups,
}


def _list(form: dict[str, str], name: str, value) -> None:
    if name.startswith("cups."):
        form[name] = str(value[0])
    elif value and isinstance(value[0], dict):
        for at, inner in enumerate(value):
            _type(form, f"{name}.{at}", inner)
    else:
        form.update({f"{name}.{at}": str(each) for at, each in enumerate(value)})


def _text(key: str, value) -> str:
    if value is True or value is False:
        return "yes" if value else "no"
    if key == "shows":
        return value.replace(" ", "T")
    # The unit is printed beside the field, so a person types the number alone.
    head, _, unit = str(value).partition(" ")
    return head if unit in _UNITS else str(value)


_UNITS = ("%", "s", "in", "ft", "gal", "mL", "ohm", "V", "mph", "psi", "sq in", "dS/m", "min")
