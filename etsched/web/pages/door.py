"""The paper for the inside of the controller door."""

from __future__ import annotations

from fastapi import Response

from etsched.errors import PlanRefused
from etsched.reports.clock_page import clock_values
from etsched.usecases.door import door_table
from etsched.usecases.properties import get_site
from etsched.web.pages.downloads import papers_of
from etsched.web.pages.security import Asked, Page


def show(asked: Asked) -> Response:
    """Set the programs of the week, or say why there are none."""
    name = get_site(asked.service, asked.site).name
    try:
        values = clock_values(door_table(asked.service, asked.site), None)
    except PlanRefused as error:
        return asked.page("no_door.html.j2", site=asked.site, name=name, why=str(error))
    return asked.page("door.html.j2", site=asked.site, name=name, papers=papers_of(asked), **values)


PAGES = (Page("/sites/{site}/door", show),)
