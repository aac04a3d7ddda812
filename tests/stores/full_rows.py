"""Invented rows for every table, with what is awkward to carry over: empty, null, long, odd letters, odd numbers."""

from datetime import UTC, date, datetime, timedelta

import sqlalchemy as sa

from etsched.stores.schema import Day, Instant, metadata

NOW = datetime(2026, 7, 14, 3, 0, 0, 123456, tzinfo=UTC)
SITES = ("Quillmere", "quill-mere", "quill_mere", "quillmere", "äpfel", "zed")  # whose order depends on the language
TEXTS = ("", 'quotes " and \\ and \n\r\t', "=1+1", "naïve ☂ 𝄞", "x" * 70_000)


def rows_of(table, number):
    """Give row `number` of a table; rows of one number belong together."""
    row = {}
    for column in table.columns:
        if column.name == "site":
            value = SITES[number]
        elif column.foreign_keys or column.primary_key:
            value = _key(column, number)
        else:
            value = _value(column, number)
        row[column.name] = value
    return row


def _key(column, number):
    if isinstance(column.type, Day):
        return date(2026, 7, 1) + timedelta(days=number)
    if isinstance(column.type, Instant):
        return NOW + timedelta(microseconds=number)
    return number + 1 if isinstance(column.type, sa.Integer) else f"{column.name[:8]} {number}"


def _value(column, number):
    if column.nullable and number % 2:
        return None
    if isinstance(column.type, Instant):
        return NOW - timedelta(days=number, microseconds=number)
    if isinstance(column.type, Day):
        return date(2024, 2, 29)
    if isinstance(column.type, sa.Boolean):
        return number % 2 == 0
    if isinstance(column.type, sa.Integer):
        return number + 1
    if isinstance(column.type, sa.Float):
        return (0.0, 0.1, 1e-300, 1 / 3, 2**53 + 2.0, 12.5)[number]
    return f"s {number}" if column.type.length else TEXTS[number % len(TEXTS)]


def fill(database):
    """Put a row of each number into every table; gives how many rows there are."""
    count = 0
    with database.writing() as writing:
        for table in metadata.sorted_tables:
            for number in range(len(SITES)):
                row = rows_of(table, number)
                row.pop("entry", None)  # the trail numbers its entries itself
                writing.execute(sa.insert(table).values(row))
                count += 1
    return count
