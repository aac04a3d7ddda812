"""The technician on a telephone of 360 px: the demo's first visit, the signal gone in the middle, sent once."""

import re
from dataclasses import replace

import pytest

from etsched.documents.site_file import parse_site
from etsched.documents.visit_file import parse_visit
from etsched.stores import visits
from etsched.stores.schema import visits as kept_visits
from etsched.usecases.record_visit import record_visit
from tests.browser.conftest import HOSTILE, sign_in
from tests.web.conftest import TODAY
from tests.web.visit_form import typed

axe_playwright = pytest.importorskip("axe_playwright_python.sync_playwright")

PHONE = {"width": 360, "height": 740}
_LAYOUT = ("grid_rows", "grid_across")


@pytest.fixture
def phone(chromium, running):
    """A telephone on which the technician is signed in."""
    context = chromium.new_context(base_url=running.address, viewport=PHONE)
    page = context.new_page()
    page.set_default_timeout(10_000)
    page.errors = []
    page.on("pageerror", lambda error: page.errors.append(str(error)))
    page.on("console", lambda line: line.type == "error" and page.errors.append(line.text + line.location["url"]))
    sign_in(page, "tom")
    yield page
    context.close()


@pytest.fixture
def unsaid(running):
    """No visit is kept before or after."""
    yield
    with running.service.database.writing() as writing:
        writing.execute(kept_visits.delete())


@pytest.fixture(scope="module")
def record(root):
    return typed((root / "demo" / "visit-1.toml").read_text("utf-8"))


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
        for name in _LAYOUT:
            page.locator(f'[name="cups.{at}.{name}"]').fill(form[f"cups.{at}.{name}"])
        page.locator(f"#cups-{at} button", has_text="Lay out").click()


def halves(form):
    """The first half until the runs are typed with the signal, the rest without."""
    first = {name: value for name, value in form.items() if name.split(".")[0] in ("visit", "clock", "program", "area")}
    rest = {name: value for name, value in form.items() if name not in first and name.split(".")[-1] not in _LAYOUT}
    return first, rest


def test_the_first_visit_is_recorded_although_the_signal_drops(phone, running, record, unsaid):
    phone.goto("/sites/grange/visit")
    first, rest = halves(record)
    lay_out(phone, record)
    type_in(phone, first)
    phone.context.set_offline(True)
    type_in(phone, rest)
    assert phone.locator("#cups-0 svg circle").count() == 24  # 4 rows of 6
    phone.evaluate("location.hash = 'verdict'")
    send = phone.get_by_role("button", name="Send the visit")
    send.click()
    phone.get_by_text("No signal. The visit is kept").wait_for()
    assert kept(running) == []
    phone.context.set_offline(False)
    phone.wait_for_url("**/visits/*")
    phone.get_by_text("This visit is recorded").wait_for()
    (visit,) = kept(running)
    assert visit.day == TODAY
    assert [each for each in phone.errors if not re.search("ERR_INTERNET_DISCONNECTED|favicon", each)] == []


def in_any_order(visit):
    """A form asks for an area's signs in its own order; which came first says nothing."""
    return replace(visit, areas=tuple(replace(area, signs=tuple(sorted(area.signs))) for area in visit.areas))


def test_what_was_recorded_is_the_demo_visit(phone, running, record, root, unsaid):
    site = parse_site((root / "demo" / "site.toml").read_text("utf-8"), "site")
    phone.goto("/sites/grange/visit")
    lay_out(phone, record)
    type_in(phone, {name: value for name, value in record.items() if name.split(".")[-1] not in _LAYOUT})
    phone.evaluate("location.hash = 'verdict'")
    phone.get_by_role("button", name="Send the visit").dblclick()
    phone.wait_for_url("**/visits/*")
    (visit,) = kept(running)
    document = (root / "demo" / "visit-1.toml").read_text("utf-8")
    recorded, demo = (parse_visit(text, "visit", site, TODAY) for text in (visit.document, document))
    assert in_any_order(recorded) == in_any_order(demo)


def test_a_draft_outlives_the_page(phone):
    phone.goto("/sites/grange/visit#core-0")
    phone.locator("#core-0 [data-more]").click()
    type_in(phone, {"core.1.moist": "2.5", "core.1.colour": "brown"})
    phone.reload()
    assert phone.locator('[name="core.1.moist"]').input_value() == "2.5"
    assert phone.locator('[name="core.1.colour"][value="brown"]').is_checked()


def test_the_map_grows_as_cups_are_typed(phone):
    phone.goto("/sites/grange/visit#cups-0")
    phone.locator('[name="cups.0.rows.0.0"]').fill("30")
    phone.locator('[name="cups.0.rows.0.1"]').fill("10")
    # (30 + 10) / 2 = 20.
    phone.get_by_text("2 cups, mean 20.0").wait_for()
    radii = [float(each.get_attribute("r")) for each in phone.locator("#cups-0 .cup-map circle").all()[:2]]
    assert radii[0] > radii[1]


def test_without_a_script_a_visit_is_recorded_screen_by_screen(chromium, running, unsaid):
    context = chromium.new_context(base_url=running.address, viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    sign_in(page, "tom")
    page.goto("/sites/grange/visit")
    assert page.locator("section.step:visible").count() == 1
    page.get_by_label("Who is here").fill("Ann Vale")
    page.locator("#visit .next").click()
    page.locator("#clock").wait_for()
    page.locator('#clock [value="bypassed"]').check()
    page.goto(page.url.split("#")[0] + "#core-0")
    page.locator('[name="core.0.area"]').fill("Courtyard")
    page.locator('[name="core.0.moist"]').fill("1.5")
    page.locator("#core-0 [data-more]").click()
    page.locator("#core-1").wait_for()
    assert page.locator('[name="core.0.moist"]').input_value() == "1.5"
    page.get_by_role("button", name="What does it tell so far?").click()
    page.locator("#verdict").wait_for()
    page.get_by_role("button", name="Send the visit").click()
    page.wait_for_url("**/visits/*")
    assert len(kept(running)) == 1
    context.close()


def test_hostile_names_are_text(phone):
    phone.goto("/sites/hostile/visit")
    assert phone.title().startswith("Visit: " + HOSTILE[:8])
    assert phone.get_by_role("heading", level=1).inner_text().startswith("Visit: " + HOSTILE[:8])


def shown_at(page, path, width):
    page.set_viewport_size({"width": width, "height": 740})
    page.goto(path)


SCREENS = ("visit", "clock", "program-0", "area-0", "run-5", "head-0", "electrical-0", "cups-0", "core-0", "verdict")
PATHS = [*(f"/sites/grange/visit#{screen}" for screen in SCREENS), "/sites/grange/heat", "/sites/grange/heat?hotter=8"]


@pytest.fixture(scope="module")
def looked_at(root):
    folder = root / "tests" / "browser" / "shots"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.mark.parametrize("path", PATHS)
def test_every_screen_fits_and_breaks_no_rule_of_access(phone, path, looked_at):
    for width in (320, 768, 1280):
        shown_at(phone, path, width)
        assert phone.evaluate("document.documentElement.scrollWidth") <= width
        name = path.replace("/sites/grange/", "").replace("#", "-").replace("?", "-")
        phone.screenshot(path=looked_at / f"{name}-{width}.png", full_page=True)
    found = axe_playwright.Axe().run(phone)
    assert found.violations_count == 0, found.generate_report()


def test_the_recorded_visit_and_its_sheet_fit(phone, root, looked_at, running, unsaid):
    document = (root / "demo" / "visit-1.toml").read_text("utf-8")
    visit = record_visit(running.service, "grange", document, "test")
    for path in (f"/sites/grange/visits/{visit.visit}", f"/sites/grange/visits/{visit.visit}/sheet"):
        for width in (320, 768, 1280):
            shown_at(phone, path, width)
            assert phone.evaluate("document.documentElement.scrollWidth") <= width
            phone.screenshot(path=looked_at / f"recorded-{path.endswith('sheet')}-{width}.png", full_page=True)
        found = axe_playwright.Axe().run(phone)
        assert found.violations_count == 0, found.generate_report()
    assert [each for each in phone.errors if "favicon" not in each] == []
