"""Forty zones and the days on which their clocks change."""

from datetime import UTC, datetime, timedelta

# Forty zones: every kind of change there is, by half hours, at midnight, to the south, over the date line, none.
ZONES = (
    "Africa/Cairo",
    "Africa/Casablanca",
    "Africa/Johannesburg",
    "Africa/Lagos",
    "America/Anchorage",
    "America/Asuncion",
    "America/Bogota",
    "America/Chicago",
    "America/Denver",
    "America/Godthab",
    "America/Halifax",
    "America/Havana",
    "America/Los_Angeles",
    "America/Mexico_City",
    "America/New_York",
    "America/Nuuk",
    "America/Phoenix",
    "America/Santiago",
    "America/Sao_Paulo",
    "America/St_Johns",
    "Asia/Amman",
    "Asia/Beirut",
    "Asia/Gaza",
    "Asia/Jerusalem",
    "Asia/Kathmandu",
    "Asia/Kolkata",
    "Asia/Tehran",
    "Asia/Tokyo",
    "Atlantic/Azores",
    "Australia/Adelaide",
    "Australia/Brisbane",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Europe/Berlin",
    "Europe/Chisinau",
    "Europe/Dublin",
    "Europe/Lisbon",
    "Pacific/Apia",
    "Pacific/Auckland",
    "Pacific/Chatham",
)


def changes(zone, first, last):
    """Give the days of some years on which a zone's offset changes, found hour by hour."""
    moment, end = datetime(first, 1, 1, tzinfo=UTC), datetime(last + 1, 1, 1, tzinfo=UTC)
    found, before = [], moment.astimezone(zone).utcoffset()
    while moment < end:
        moment += timedelta(hours=6)
        now = moment.astimezone(zone).utcoffset()
        if now != before:
            found.append(moment.astimezone(zone).date())
        before = now
    return found
