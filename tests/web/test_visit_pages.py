"""The technician's pages and the heat check as forms that need no script: what is typed becomes the record."""

import json
import re
from dataclasses import replace
from datetime import timedelta
from html import unescape
from urllib.parse import urlencode

import pytest

from etsched.documents.site_file import parse_site
from etsched.documents.visit_file import parse_visit
from etsched.model.access import Role
from etsched.model.service import KeptVisit
from etsched.stores import plans, visits
from etsched.tables.heat_check import heat_table
from etsched.usecases.access import open_session
from etsched.usecases.daily import plan_now
from etsched.usecases.kept_heat import Hotter, heat_of
from etsched.usecases.properties import get_site, put_site
from etsched.usecases.record_visit import record_visit
from etsched.web.pages.session import COOKIE, FORM_FIELD, form_token
from etsched.web.pages.visit_draft import document_of, to_mend
from etsched.web.pages.visit_kept import form_of, is_same
from etsched.web.pages.visit_steps import steps_of
from tests.web.conftest import EVENING, PASSWORD, TODAY, put_person
from tests.web.visit_form import typed

VISIT = "/sites/grange/visit"

DEAD = "date = 2026-07-13\n[[run]]\nstation = 3\nfrom_controller = false\n"


class Technician:
    """A person who is signed in, without script."""

    def __init__(self, played):
        database = played.service.database
        put_person(database, "ann", Role.TECHNICIAN, frozenset({"grange"}))
        self.token = open_session(database, EVENING, "ann", PASSWORD)
        self.service, self.client = played.service, played.client
        self.client.cookies.set(COOKIE, self.token)

    def look(self, path):
        return self.client.get(path, follow_redirects=False)

    def send(self, path, form, do):
        body = urlencode({**form, "do": do, FORM_FIELD: form_token(self.token)})
        headers = {"content-type": "application/x-www-form-urlencoded"}
        return self.client.post(path, content=body, headers=headers, follow_redirects=False)

    def plans(self):
        with self.service.database.reading() as reading:
            found = (plans.find_plan(reading, "grange", number) for number in range(1, 9))
            return [plan for plan in found if plan is not None]

    def kept(self):
        with self.service.database.reading() as reading:
            return visits.visits_of(reading, "grange")


@pytest.fixture
def technician(played):
    played.client.base_url = "http://localhost"
    return Technician(played)


@pytest.fixture(scope="module")
def record(root):
    return (root / "demo" / "visit-1.toml").read_text("utf-8")


def test_what_is_typed_is_the_record_that_a_file_holds(record, root):
    site = parse_site((root / "demo" / "site.toml").read_text("utf-8"), "site")
    written = document_of(steps_of(site), site, typed(record))
    assert parse_visit(written, "visit", site, TODAY) == parse_visit(record, "visit", site, TODAY)


def test_metric_readers_type_metric_numbers(root):
    site = replace(parse_site((root / "demo" / "site.toml").read_text("utf-8"), "site"), units="metric")
    form = {"visit.date": "2026-07-13", "core.0.area": "Courtyard", "core.0.moist": "51", "meter.0.volume": "8",
            "meter.0.minutes": "10"}  # fmt: skip
    read = parse_visit(document_of(steps_of(site), site, form), "visit", site, TODAY)
    assert read.cores[0].moist_mm == 51.0
    assert read.meters[0].volume_l == 8.0


def test_a_visit_is_judged_as_it_grows_and_sent_once(technician, record):
    form = typed(record)
    judged = technician.send(VISIT, form, "check")
    assert judged.status_code == 200
    assert "Next test" in judged.text
    assert technician.kept() == []
    technician.service.clock.at += timedelta(minutes=1)  # after the plan that stands
    first, again = technician.send(VISIT, form, "send"), technician.send(VISIT, form, "send")
    assert (first.status_code, again.status_code) == (303, 303)
    assert first.headers["location"] == again.headers["location"]
    assert [each.day for each in technician.kept()] == [TODAY]
    recorded = technician.look(first.headers["location"])
    assert "This visit is recorded" in recorded.text
    assert '<a href="/sites/grange">Back to Thistledown Grange, Cobble Ferry</a>' in recorded.text
    assert "The plan that stands now goes by it" in recorded.text
    sheet = technician.look(first.headers["location"] + "/sheet")
    assert sheet.status_code == 200
    assert "'unsafe-inline'" not in sheet.headers["content-security-policy"]
    assert "style-src 'sha256-" in sheet.headers["content-security-policy"]
    assert '<a href="/sites/grange">Back to Thistledown Grange, Cobble Ferry</a>' in sheet.text
    # What the report says of the terminals' readings stands on the page as well.
    for page in (recorded.text, sheet.text):
        assert "No reading: open line" in page
        assert "26.4 V" in page


def test_the_page_of_a_visit_says_first_what_to_do_and_to_mend_the_clock_too(technician):
    form = {"visit.date": "2026-07-13", "clock.shows": "2026-07-13T18:10", "clock.really": "06:10",
            "clock.rain_switch": "bypassed", "area.0.name": "Courtyard", "area.0.colour": "brown"}  # fmt: skip
    page = technician.look(technician.send(VISIT, form, "send").headers["location"]).text
    shown, _, folded = page.partition("All that it tells")
    for mend in ("Set its date and time: it is 12 hours ahead.", "Take the rain switch off bypass."):
        assert mend in shown
    assert shown.index("What to do next") < shown.index("What to mend")
    assert "it is 12 hours ahead of the true time" in folded
    assert "gets no water from the clock" not in page


def test_a_second_record_of_a_day_is_told_before_it_is_sent_and_replaces_where_the_box_is_ticked(technician):
    first = {"visit.date": "2026-07-13", "visit.notes": "Dry."}
    other = {"visit.date": "2026-07-13", "visit.notes": "Dry, and a leak."}
    box = 'name="replaces" value="'
    assert box not in technician.send(VISIT, first, "check").text
    technician.send(VISIT, first, "send")
    assert box not in technician.send(VISIT, first, "check").text
    assert box not in technician.send(VISIT, other | {"visit.date": "2026-07-12"}, "check").text
    told = technician.send(VISIT, other, "check").text
    assert box in told
    ticked = {"replaces": told[told.index(box) + len(box) :].partition('"')[0]}
    refused = technician.send(VISIT, other, "send")
    assert (refused.status_code, "Mon Jul 13, 2026 is kept already" in refused.text) == (422, True)
    assert "Dry." in technician.kept()[0].document
    technician.service.clock.at += timedelta(minutes=1)
    assert technician.send(VISIT, other | ticked, "send").status_code == 303
    (kept,) = technician.kept()
    assert "a leak" in kept.document
    # The box spoke of the record that is gone, not of the one that took its place.
    assert technician.send(VISIT, first | ticked, "send").status_code == 422


def test_a_visit_sent_before_the_night_has_its_plan_at_once_and_so_has_its_withdrawal(technician):
    """Station 3 came on in the plan that stands; the visit finds it dead, and a later word takes that back."""
    technician.service.clock.at += timedelta(minutes=1)
    dies = {"visit.date": "2026-07-13", "run.3.from_controller": "no"}
    page = technician.send(VISIT, dies, "send").headers["location"]
    assert [(plan.revision, 3 in dead(plan)) for plan in technician.plans()] == [(1, False), (2, True)]
    technician.service.clock.at += timedelta(minutes=1)
    technician.send(f"{page}/withdraw", {"yes": "yes"}, "")
    assert [(plan.revision, 3 in dead(plan)) for plan in technician.plans()][2:] == [(3, False)]


def test_a_visit_sent_in_the_night_leaves_its_plan_as_it_is(technician):
    technician.service.clock.at += timedelta(hours=5, minutes=1)
    dies = {"visit.date": "2026-07-13", "run.3.from_controller": "no"}
    page = technician.send(VISIT, dies, "send").headers["location"]
    assert [plan.revision for plan in technician.plans()] == [1]
    assert "and otherwise on Tue Jul 14 about" in technician.look(page).text


def dead(plan):
    return [row["terminal"] for row in json.loads(plan.document)["stations"] if row["blocked"]]


def test_a_recorded_visit_is_told_on_the_week_and_in_the_list_until_a_plan_goes_by_it(technician):
    told, listed = "was recorded after this plan was made", "The visit of Mon Jul 13, 2026 is recorded and enters the"
    assert "Visit of" not in technician.look("/sites/grange").text
    technician.service.clock.at += timedelta(minutes=1)
    page = f"/sites/grange/visits/{record_visit(technician.service, 'grange', DEAD, 'a program').visit}"
    week = technician.look("/sites/grange").text
    assert f'The <a href="{page}">visit of Mon Jul 13, 2026</a> {told}' in week
    assert listed in technician.look("/").text
    technician.service.clock.at += timedelta(minutes=1)
    plan_now(technician.service, "grange", "test")
    week = technician.look("/sites/grange").text
    assert told not in week
    assert f'<a href="{page}">Visit of Mon Jul 13, 2026</a>' in week
    assert listed not in technician.look("/").text


def test_a_visit_of_another_year_is_refused_with_its_year(technician):
    answer = technician.send(VISIT, {"visit.date": "2025-07-13", "visit.notes": "Dry."}, "send")
    assert answer.status_code == 422
    assert "Sun Jul 13, 2025 is more than 60 days ago" in answer.text
    assert technician.kept() == []


def test_a_visit_of_long_ago_that_is_kept_spoils_none_after_it(technician, record):
    old = record.replace("date = 2026-07-12", "date = 2025-07-13").replace("date = 2026-07-13", "date = 2025-07-13")
    assert "date = 2025-07-13" in old
    day = TODAY.replace(year=2025)
    with technician.service.database.writing() as writing:
        visits.put_visit(writing, KeptVisit("1" * 36, "grange", day, old, "{}", EVENING, "somebody"))
    judged = technician.send(VISIT, typed(record), "check")
    assert (judged.status_code, "Next test" in judged.text) == (200, True)
    assert "give weather" not in judged.text


def test_a_kept_record_is_filled_in_again_as_it_was(record, root):
    site = parse_site((root / "demo" / "site.toml").read_text("utf-8"), "site")
    form = form_of(steps_of(site), site, record)
    assert (form["clock.shows"], form["program.0.starts.1"], form["core.1.moist"]) == ("2026-07-12T05:42", "16:00", "1")
    assert (form["run.5.wet.0"], form["run.9.wet.1"]) == ("Great lawn, north", "North side of the hall")
    assert (form["electrical.1.coil.or"], form["cups.0.rows.3.5"]) == ("open", "24")
    again = parse_visit(document_of(steps_of(site), site, form), "visit", site, TODAY)
    assert is_same(again, parse_visit(record, "visit", site, TODAY))


@pytest.mark.parametrize(
    ("more", "known"),
    [
        ('[[area]]\nname = "Courtyard"\npattern = "Fairy Ring"\nsigns = ["soggy", "mushy"]\n', False),
        ('[[area]]\nname = "Courtyard"\npattern = "Fairy Ring"\nsigns = ["soggy", "hard soil"]\n', True),
        ('[[area]]\nname = "Courtyard"\nsigns = ["beads"]\n', False),
        ('[[area]]\nname = "Courtyard"\ninsects = { grubs = 2, chinch = 3 }\n', False),
        ("[[run]]\nstation = 3\nby_hand = true\n[[run]]\nstation = 3\nby_hand = false\n", False),
        ("[[run]]\nstation = 3\nwet = []\n", True),
        ('[[program]]\nname = "A"\nstarts = []\ndays = "every day"\nminutes = { 3 = 5, 1 = 5 }\n', False),
        ('[[program]]\nname = "A"\nstarts = ["5:30"]\ndays = "every day"\nminutes = { 1 = 5, 3 = 5 }\n', True),
        ('[[core]]\narea = "Courtyard"\nmoist = "51 mm"\n', True),
        ("[recovery]\nsheds_water = [3]\n", False),
    ],
)
def test_a_record_that_the_form_cannot_hold_is_known(root, more, known):
    site = parse_site((root / "demo" / "site.toml").read_text("utf-8"), "site")
    text = f"date = 2026-07-13\n{more}"
    written = document_of(steps_of(site), site, form_of(steps_of(site), site, text))
    assert is_same(parse_visit(written, "visit", site, TODAY), parse_visit(text, "visit", site, TODAY)) is known


def test_a_visit_is_corrected_in_its_place(technician, record):
    page = technician.send(VISIT, typed(record), "send").headers["location"]
    assert f'href="{page}/correct"' in technician.look(page).text
    shown = technician.look(f"{page}/correct").text
    assert "The visit of Mon Jul 13, 2026 as it is kept" in shown
    assert 'value="2.1"' in shown  # the soil's salts
    (told,) = re.findall(r'name="replaces" value="([^"]+)" checked', shown)
    technician.service.clock.at += timedelta(minutes=1)
    corrected = technician.send(VISIT, {**typed(record), "salts.soil": "2.4", "replaces": told}, "send")
    assert corrected.status_code == 303
    (kept,) = technician.kept()
    assert "2.4 dS/m" in kept.document


def test_a_visit_that_holds_more_than_the_form_is_not_corrected_with_it(technician):
    text = "date = 2026-07-13\n[recovery]\nsheds_water = [3]\n"
    visit = record_visit(technician.service, "grange", text, "test")
    answer = technician.look(f"/sites/grange/visits/{visit.visit}/correct")
    assert (answer.status_code, "holds more than it asks" in answer.text) == (409, True)


def test_the_end_of_the_form_counts_what_it_holds(technician, record):
    page = technician.send(VISIT, typed(record), "check").text
    held = page[page.index("What this record holds") :].partition("</ul>")[0]
    counted = {
        re.sub(r"<[^>]+>|✓|filled in", "", each).rpartition(" ")[0].strip(): each
        for each in re.findall(r"<li>(.*?)</li>", held.replace("\n", ""))
        if " hidden>" not in each
    }
    numbers = {name: int(re.search(r"<b>(\d+)</b>", each)[1]) for name, each in counted.items() if "<b>" in each}
    # As they stand in the demo's record: 4 rows of 6 cups twice.
    assert numbers == {
        "Programs": 3, "Areas as they look": 6, "Stations, one by one": 14, "Heads with faults": 4,
        "Coils and voltages": 3, "Cup tests": 2, "Soil cores": 10, "Water meter": 5, "Cups": 48,
    }  # fmt: skip


def test_stations_with_something_to_mend_are_told_from_the_others():
    form = {"head.0.station": "7", "run.12.leak": "split riser", "run.13.from_controller": "no",
            "run.5.from_controller": "yes", "electrical.0.station": "2", "electrical.1.station": "4",
            "electrical.1.coil.or": "open", "recovery.repaired_on.9": "2026-07-17", "run.6.leak": " "}  # fmt: skip
    assert to_mend(form) == {"7", "12", "13", "4", "9"}


def test_a_visit_is_withdrawn_once_the_box_is_ticked(technician, record):
    page = technician.send(VISIT, typed(record), "send").headers["location"]
    assert f'href="{page}/withdraw"' in technician.look(page).text
    assert 'type="checkbox" name="yes"' in technician.look(f"{page}/withdraw").text
    missed = technician.send(f"{page}/withdraw", {}, "")
    assert (missed.status_code, "Nothing is withdrawn yet" in missed.text) == (422, True)
    assert len(technician.kept()) == 1
    done = technician.send(f"{page}/withdraw", {"yes": "yes"}, "")
    assert (done.status_code, "Mon Jul 13, 2026 is withdrawn" in done.text) == (200, True)
    assert technician.kept() == []
    assert technician.look(page).status_code == 404


def test_a_visit_that_the_site_file_has_outgrown_can_still_be_withdrawn(technician):
    form = {"visit.date": "2026-07-13", "run.3.wet.1": "Courtyard"}
    page = technician.send(VISIT, form, "send").headers["location"]
    kept = get_site(technician.service, "grange")
    start = kept.document.index("[[station]]\nterminal = 3\n")
    end = kept.document.index("[[station]]", start + 1)
    put_site(technician.service, "grange", kept.document[:start] + kept.document[end:], "test")
    shown = technician.look(page)
    assert (shown.status_code, "no terminal 3" in shown.text) == (200, True)
    assert f'href="{page}/withdraw"' in shown.text


def test_what_cannot_be_used_is_said_and_stays_in_the_form(technician):
    form = {"visit.date": "2026-07-13", "core.0.depth": "eight", "core.0.area": "Courtyard"}
    answer = technician.send(VISIT, form, "send")
    assert answer.status_code == 422
    assert "Soil core 1, The core reached:" in answer.text
    assert 'value="eight"' in answer.text
    assert technician.kept() == []


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"core.2.layers.0.feel": "dry", "core.2.area": "Courtyard"}, "Soil core 3, Layer 1 ends at: is missing;"),
        ({"program.0.starts.0": "05:00"}, "Program 1, Name on the clock, such as A: is missing; fill it in."),
        ({"area.1.colour": "brown"}, "Area 2, Which lawn or part: is missing; choose an area."),
        ({"core.0.depth": "eight"}, "; write the number alone (in)."),
    ],
)
def test_a_refusal_speaks_of_the_form_and_not_of_a_file(technician, form, said):
    text = technician.send(VISIT, {"visit.date": "2026-07-13", **form}, "send").text
    told = unescape(text[text.index("To mend first") :].partition("</ul>")[0])
    assert said in told
    assert not re.search(r"\[| = |\{|brackets|such as \"", told)


def test_a_visit_that_cannot_be_judged_says_why_and_nothing_of_files(technician):
    # The demo's weather begins on June 25.
    told = technician.send(VISIT, {"visit.date": "2026-06-01", "visit.notes": "Dry."}, "check").text
    assert "not judged yet: the weather runs from 2026-06-25" in told
    assert "give weather" not in told


def test_another_row_comes_after_the_last_and_keeps_what_was_typed(technician):
    before = technician.look(VISIT).text
    assert 'id="core-0"' in before
    assert 'id="core-1"' not in before
    after = technician.send(VISIT, {"core.0.area": "Courtyard"}, "more.core").text
    assert 'id="core-1"' in after
    assert 'id="core-2"' not in after
    assert 'value="Courtyard"' in after


def test_cups_are_laid_out_as_they_stood(technician):
    # 2 rows of 3 are 6 cups, and no seventh.
    form = {"cups.0.grid_rows": "2", "cups.0.grid_across": "3"}
    assert technician.send(VISIT, form, "lay out").text.count('name="cups.0.rows.') == 6
    # What is no number of rows leaves the 24 of the smallest test.
    form = {"cups.0.grid_rows": "²", "cups.0.grid_across": "-3"}
    assert technician.send(VISIT, form, "lay out").text.count('name="cups.0.rows.') == 24


HOSTILE = "<script>alert(1)</script>\"'\x7f"


def test_hostile_text_is_shown_and_never_obeyed(technician):
    form = {"visit.date": "2026-07-13", "visit.technician": HOSTILE.replace("\x7f", ""), "area.0.name": "<b>lawn</b>",
            "area.0.colour": "brown", "visit.notes": "<img src=x onerror=alert(1)>"}  # fmt: skip
    for answer in (technician.send(VISIT, form, "check"), technician.send(VISIT, form, "send")):
        page = answer if answer.status_code == 200 else technician.look(answer.headers["location"])
        assert "&lt;b&gt;lawn" in page.text
        assert "<script>alert" not in page.text
        assert "<b>lawn" not in page.text
        assert "<img" not in page.text


@pytest.mark.parametrize("name", ["core.-1.area", "core.99999.area", "core.x.area", "core", "cups.0.rows.9.9"])
def test_fields_that_no_page_has_break_nothing(technician, name):
    assert technician.send(VISIT, {"visit.date": "2026-07-13", name: "1"}, "check").status_code == 200


def test_a_terminal_that_the_property_lacks_is_named(technician):
    answer = technician.send(VISIT, {"visit.date": "2026-07-13", "run.77.wet.1": "Courtyard"}, "check")
    assert (answer.status_code, "no terminal 77" in answer.text) == (422, True)


def test_a_form_of_nobody_is_refused(technician, record):
    body = urlencode({**typed(record), "do": "send"})
    headers = {"content-type": "application/x-www-form-urlencoded"}
    assert technician.client.post(VISIT, content=body, headers=headers).status_code == 403
    assert technician.kept() == []


def test_a_foreign_property_is_not_there(technician):
    for path in ("/sites/other-place/visit", "/sites/other-place/heat", "/sites/grange/visits/none"):
        assert technician.look(path).status_code == 404


def test_the_heat_check_says_what_the_tables_say(technician):
    page = technician.look("/sites/grange/heat?hotter=9&days=4").text
    # 9 °F are 9 × 5/9 = 5 °C.
    table = heat_table(heat_of(technician.service, "grange", Hotter(5.0, 4)))
    for words in (table.heading, table.spell, *table.verdict, *table.steps, table.back):
        assert words in page.replace("&#39;", "'")
    for night in table.nights:
        assert f"<b>{night.label}</b>: {night.words}" in page


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("hotter=warm", "no such number of degrees"),
        ("hotter=-3", "no such number of degrees"),
        ("hotter=55", "from 0.1 to 27 °F"),
        ("hotter=27.1", "from 0.1 to 27 °F"),
        ("hotter=0.01", "from 0.1 to 27 °F"),
        ("hotter=%EF%BC%98", "from 0.1 to 27 °F"),
        ("hotter=28", "&#34;28&#34; is no such number of degrees"),
        ("hotter=5&days=99", "from 1 to 14"),
        ("hotter=5&first=soon", "It is no date"),
        ("days=3", "Days alone say nothing of heat"),
    ],
)
def test_a_heat_check_that_cannot_be_read_says_why(technician, query, words):
    answer = technician.look(f"/sites/grange/heat?{query}")
    assert (answer.status_code, words in answer.text) == (422, True)


def test_a_day_out_of_reach_is_refused_at_its_field(technician):
    answer = technician.look("/sites/grange/heat?hotter=5&first=2031-01-01")
    assert answer.status_code == 422
    assert '<span class="wrong" id="w-first">The hotter days begin on 2031-01-01; let them begin between' in answer.text
    assert answer.text.count("aria-invalid") == 1
    assert "What to do" not in answer.text


def test_the_bound_itself_is_checked_and_halves_of_degrees_are_shown(technician):
    for typed_in, shown in (("27", "27 °F hotter than"), ("8.5", "8.5 °F hotter than")):
        answer = technician.look(f"/sites/grange/heat?hotter={typed_in}&days=2")
        assert (answer.status_code, shown in answer.text) == (200, True)


def test_before_any_plan_the_heat_check_says_so(technician, root):
    put_person(technician.service.database, "bea", Role.ADMIN, None)
    token = open_session(technician.service.database, EVENING, "bea", PASSWORD)
    technician.client.cookies.set(COOKIE, token)
    page = technician.look("/sites/other-place/heat")
    name = get_site(technician.service, "other-place").name
    assert f"no plan of {name} has been made yet" in page.text
