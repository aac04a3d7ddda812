"""A visit typed into its form as a person does, screen by screen."""

from __future__ import annotations

import re
from dataclasses import replace

from etsched.documents.site_file import parse_site
from etsched.documents.visit_file import parse_visit
from etsched.stores import visits
from tests.web.conftest import TODAY

PHONE = {"width": 360, "height": 740}
LAYOUT = ("grid_rows", "grid_across")


def kept(running):
    with running.service.database.reading() as reading:
        return visits.visits_of(reading, "grange")


def type_in(page, form):
    """Fill in fields as they stand on the page, going to the screen of each as a person does."""
    screen = ""
    for name, value in form.items():
        field = page.locator(f'[name="{name}"]').first
        section = field.evaluate("each => each.closest('section').id")
        if section != screen:
            page.evaluate("id => { location.hash = id; }", section)
            screen = section
        kind = field.evaluate("each => each.tagName === 'INPUT' ? each.type : each.tagName")
        if kind in ("checkbox", "radio"):
            # The boxes of a list are told apart by their words, not by their number.
            listed = re.fullmatch(r"(.*\.(?:signs|days))\.\d+", name)
            start = f'[name^="{listed[1]}."]' if listed else f'[name="{name}"]'
            page.locator(f'{start}[value="{value}"]').check()
        elif kind == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)


def rows_of(form, table):
    return 1 + max(int(name.split(".")[1]) for name in form if name.startswith(f"{table}."))


def lay_out(page, form):
    """Ask for as many rows as the visit has, and cups as they stood."""
    for table in ("program", "area", "head", "electrical", "cups", "core", "meter"):
        for at in range(rows_of(form, table) - 1):
            page.evaluate("id => { location.hash = id; }", f"{table}-{at}")
            page.locator(f"#{table}-{at} [data-more]").click()
            page.locator(f"#{table}-{at + 1}").wait_for()
    for at in range(rows_of(form, "cups")):
        page.evaluate("id => { location.hash = id; }", f"cups-{at}")
        page.locator(f"#cups-{at} summary").click()
        for name in LAYOUT:
            page.locator(f'[name="cups.{at}.{name}"]').fill(form[f"cups.{at}.{name}"])
        page.locator(f"#cups-{at} button", has_text="Lay out").click()


def halves(form):
    """The first half until the runs are typed with the signal, the rest without."""
    first = {name: value for name, value in form.items() if name.split(".")[0] in ("visit", "clock", "program", "area")}
    rest = {name: value for name, value in form.items() if name not in first and name.split(".")[-1] not in LAYOUT}
    return first, rest


def assert_is_first_visit(visit, root):
    """What is kept of a visit is the demo's first one, value by value."""
    site = parse_site((root / "demo" / "site.toml").read_text("utf-8"), "site")
    document = (root / "demo" / "visit-1.toml").read_text("utf-8")
    recorded, demo = (parse_visit(text, "visit", site, TODAY) for text in (visit.document, document))
    assert in_any_order(recorded) == in_any_order(demo)


def in_any_order(visit):
    """A form asks for an area's signs in its own order; which came first says nothing."""
    return replace(visit, areas=tuple(replace(area, signs=tuple(sorted(area.signs))) for area in visit.areas))
