"""Pages without a browser: signing in, forms of strangers, properties out of reach, headers, hostile names."""

import csv
import html
import io
import json
import re
import sys
from dataclasses import replace
from datetime import timedelta

import pytest
from pypdf import PdfReader
from starlette.routing import Route
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.reference.words import word_groups
from etsched.tables.week import week_table
from etsched.usecases.kept_plans import week_plan
from etsched.web.app import make_app
from etsched.web.limits import Limits
from etsched.web.pages import PAGES
from etsched.web.pages.security import POLICY, PageRoute
from tests.web.conftest import PASSWORD, StandingClock, put_person

OPEN = {("GET", "/sign-in"), ("POST", "/sign-in")}
READ = ["/", "/words", *(f"/sites/grange{tail}" for tail in ("", "/changes", "/water", "/water/1", "/why/1", "/door"))]

TOKEN = re.compile(r'name="form_token" value="([0-9a-f]{96})"')


@pytest.fixture(scope="module")
def people(shared):
    """Put people beside the keys: a manager and a technician of one property, an admin, a manager of another."""
    database, one = shared.service.database, frozenset({"grange"})
    put_person(database, "mia", Role.MANAGER, one)
    put_person(database, "tom", Role.TECHNICIAN, one)
    put_person(database, "ada", Role.ADMIN, None)
    put_person(database, "ida", Role.MANAGER, frozenset({"other-place"}))
    return shared


def visitor(people):
    # Plain HTTP goes to this machine alone, so that is where these tests are.
    return TestClient(people.client.app, base_url="http://localhost", follow_redirects=False)


def let_in(people, name):
    client = visitor(people)
    answer = client.post("/sign-in", data={"name": name, "password": PASSWORD, "to": "/"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    return client


def form_token(client):
    return TOKEN.search(client.get("/").text)[1]


def without_token(answer):
    """Give a page without what no two pages share."""
    return TOKEN.sub("", answer.text)


def test_every_page_but_the_signing_in_is_behind_it(people):
    client, closed = visitor(people), [page for page in PAGES if page.scope is not None]
    assert {(page.method, page.path) for page in PAGES if page.scope is None} == OPEN
    for page in closed:
        answer = client.request(page.method, page.path.format(site="grange", terminal="1", visit="1"))
        assert (answer.status_code, answer.headers["location"][:8]) == (303, "/sign-in"), page.path


def test_the_router_has_each_page_once(people):
    routes = [route.page for route in people.client.app.routes if isinstance(route, PageRoute)]
    assert routes == list(PAGES)
    assert len({(page.method, page.path) for page in PAGES}) == len(PAGES)
    assert all(isinstance(route, Route) for route in people.client.app.routes)


def test_a_person_comes_back_to_where_they_wanted_to_go(people):
    client = visitor(people)
    asked = client.get("/sites/grange")
    assert asked.headers["location"] == "/sign-in?to=%2Fsites%2Fgrange"
    assert 'name="to" value="/sites/grange"' in client.get(asked.headers["location"]).text
    sent = client.post("/sign-in", data={"name": "mia", "password": PASSWORD, "to": "/sites/grange"})
    assert sent.headers["location"] == "/sites/grange"
    assert client.get("/sites/grange").status_code == 200


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", ""])
def test_signing_in_leads_nowhere_else(people, elsewhere):
    sent = visitor(people).post("/sign-in", data={"name": "mia", "password": PASSWORD, "to": elsewhere})
    assert sent.headers["location"] == "/"


def test_a_wrong_password_and_an_unknown_name_are_told_the_same(people):
    tries = [("mia", "not the password"), ("nobody", "not the password")]
    answers = [visitor(people).post("/sign-in", data={"name": name, "password": word}) for name, word in tries]
    assert [answer.status_code for answer in answers] == [403, 403]
    assert answers[0].text.replace("mia", "nobody") == answers[1].text
    assert not any("set-cookie" in answer.headers for answer in answers)


def test_wrong_passwords_are_limited_by_address_and_by_time(people):
    """Three wrong ones in a minute, then even the right one waits; pages that need no password go on."""
    clock = StandingClock()
    app = make_app(replace(people.service, clock=clock), Limits(failed_tries_a_minute=3))
    client = TestClient(app, base_url="http://localhost", follow_redirects=False)
    wrong, right = ({"name": "mia", "password": word} for word in ("not the password", PASSWORD))
    statuses = []
    for _ in range(3):
        statuses.append(client.post("/sign-in", data=wrong).status_code)
        clock.at += timedelta(seconds=10)
    refused = client.post("/sign-in", data=right)
    assert (*statuses, refused.status_code) == (403, 403, 403, 429)
    # The first try is 30 s ago; after a minute it no longer counts.
    assert refused.headers["retry-after"] == "30"
    assert "There were too many tries. Wait 30 seconds" in refused.text
    assert "set-cookie" not in refused.headers
    assert client.get("/sign-in").status_code == 200
    clock.at += timedelta(seconds=29)
    assert client.post("/sign-in", data=right).headers["retry-after"] == "1"
    clock.at += timedelta(seconds=1)
    assert client.post("/sign-in", data=right).status_code == 303


def test_the_cookie_is_out_of_reach_of_scripts_and_of_plain_http_elsewhere(people):
    data = {"name": "mia", "password": PASSWORD}
    here = visitor(people).post("/sign-in", data=data).headers["set-cookie"].lower()
    away = TestClient(people.client.app, base_url="http://turf.example", follow_redirects=False)
    there = away.post("/sign-in", data=data).headers["set-cookie"].lower()
    assert all("httponly" in cookie and "samesite=lax" in cookie for cookie in (here, there))
    assert ("secure" in here, "secure" in there) == (False, True)


def test_a_form_without_the_sessions_token_is_refused(people):
    client, other = let_in(people, "mia"), let_in(people, "tom")
    for data in ({}, {"form_token": "0" * 96}, {"form_token": form_token(other)}):
        assert client.post("/sign-out", data=data).status_code == 403
    assert client.get("/").status_code == 200
    assert client.post("/sign-out", data={"form_token": form_token(client)}).status_code == 303
    assert client.get("/").status_code == 303


def test_pages_are_compressed_for_whoever_takes_that_and_no_two_have_the_same_token(people):
    """What stays the same beside words of a stranger could be guessed from the lengths of many compressed pages."""
    client = let_in(people, "mia")
    style = re.search(r'href="(/static/etsched-[^"]+)"', client.get("/").text)[1]
    for path in ("/sites/grange", style, "/worker.js"):
        packed, plain = (client.get(path, headers={"accept-encoding": kind}) for kind in ("gzip", "identity"))
        assert (packed.headers["content-encoding"], "content-encoding" in plain.headers) == ("gzip", False)
        assert packed.headers["vary"] == plain.headers["vary"] == "Accept-Encoding"
        assert 2 * int(packed.headers["content-length"]) < int(plain.headers["content-length"])
    tokens = {form_token(client) for _ in range(3)}
    assert len({token[:32] for token in tokens}) == len({token[32:] for token in tokens}) == 3
    wrong_day = [client.post("/sites/grange/keyed-in", data={"form_token": each, "revision": "1"}) for each in tokens]
    assert [answer.status_code for answer in wrong_day] == [422, 422, 422]  # the form was let in


@pytest.mark.parametrize(
    "headers", [{"origin": "https://elsewhere.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}]
)
def test_a_form_from_somebody_elses_page_is_refused(people, headers):
    client = let_in(people, "mia")
    token = form_token(client)
    assert client.post("/sign-out", data={"form_token": token}, headers=headers).status_code == 403
    signing_in = {"name": "mia", "password": PASSWORD}
    assert visitor(people).post("/sign-in", data=signing_in, headers=headers).status_code == 403


def test_a_key_of_a_program_opens_no_page(people):
    client = visitor(people)
    client.cookies.set("etsched_session", people.secrets["all"])
    assert client.get("/").status_code == 303


@pytest.mark.parametrize("path", ["/nowhere", "/sites", "/sites/grange/nowhere", "/v10", "/<b>"])
def test_an_address_with_nothing_under_it_is_a_page_with_a_way_on(people, path):
    for client, way in ((let_in(people, "mia"), '<a href="/">To all'), (visitor(people), '<a href="/sign-in">Sign in')):
        answer = client.get(path)
        assert (answer.status_code, answer.headers["content-type"]) == (404, "text/html; charset=utf-8")
        assert way in answer.text
        assert answer.headers["content-security-policy"] == POLICY
        assert "<b>" not in answer.text
    assert ("Sign out" in let_in(people, "mia").get(path).text, "Sign out" in answer.text) == (True, False)


@pytest.mark.parametrize("path", ["/v1", "/v1/", "/v1/nowhere", "/v1/sites/grange/nowhere"])
def test_programs_keep_their_problem_document(people, path):
    for client in (let_in(people, "mia"), visitor(people)):
        answer = client.get(path)
        assert (answer.status_code, answer.headers["content-type"]) == (404, "application/problem+json")


def test_a_method_that_a_page_does_not_take_is_a_page_too(people):
    for method, path, allowed in (("GET", "/sign-out", "POST"), ("DELETE", "/sign-in", "GET, HEAD, POST")):
        answer = let_in(people, "mia").request(method, path)
        assert (answer.status_code, answer.headers["allow"]) == (405, allowed)
        assert answer.headers["content-type"].startswith("text/html")
    assert visitor(people).post("/openapi.json").headers["content-type"] == "application/problem+json"


def test_a_property_out_of_reach_cannot_be_told_from_none(people):
    client = let_in(people, "ida")
    for page in PAGES:
        if "{site}" not in page.path:
            continue
        data = {"form_token": form_token(client)} if page.method == "POST" else None
        answers = [
            client.request(page.method, page.path.format(site=site, terminal="1", visit="1"), data=data)
            for site in ("grange", "no-such")
        ]
        assert [answer.status_code for answer in answers] == [404, 404], page.path
        assert without_token(answers[0]) == without_token(answers[1])


def test_each_person_lists_the_properties_that_are_theirs(people):
    listed = {name: set(re.findall(r'href="/sites/([a-z-]+)"', let_in(people, name).get("/").text)) for name in
              ("mia", "tom", "ada", "ida")}  # fmt: skip
    assert listed == {
        "mia": {"grange"},
        "tom": {"grange"},
        "ada": {"grange", "other-place"},
        "ida": {"other-place"},
    }


def test_the_most_urgent_property_is_first(people):
    """The other place has no plan at all, which is worse than the blocked stations of the first."""
    text = let_in(people, "ada").get("/").text
    assert text.index("/sites/other-place") < text.index("/sites/grange")
    assert "No plan has been made yet." in text


@pytest.mark.parametrize("night", ["foo", "9999-12-31", "0001-01-01", "2026-7-14", "<b>"])
def test_a_night_that_the_week_has_not_is_refused(people, night):
    client = let_in(people, "mia")
    answer = client.get("/sites/grange/why/1", params={"night": night})
    assert answer.status_code == 404
    assert f"This week has no night &#34;{html.escape(night)}&#34;; its nights are " in answer.text
    for offered in re.findall(r'href="\?night=([^"]*)"', client.get("/sites/grange/why/1").text):
        assert client.get(f"/sites/grange/why/1?night={offered}").status_code == 200
    assert client.get("/sites/grange/why/1?night=").status_code == 200


def test_a_blocked_station_has_no_table_of_what_measuring_would_change(people):
    client = let_in(people, "mia")
    _, plan = week_plan(people.service, "grange")
    words, heading = "This station is blocked: ", "Measure it by"
    for station in plan.site.stations:
        text = client.get(f"/sites/grange/why/{station.terminal}").text
        assert (words in text) == (station.blocked is not None)
        assert not (words in text and heading in text)
    assert any(station.blocked for station in plan.site.stations)


def test_a_technician_may_open_what_a_visit_needs(people):
    client = let_in(people, "tom")
    for path in ("/sites/grange", "/sites/grange/visit", "/sites/grange/heat"):
        assert client.get(path).status_code == 200, path


@pytest.mark.parametrize("path", [*READ, "/sign-in", "/sites/no-such", "/sites/grange/why/999"])
def test_every_page_carries_the_strict_policy_and_needs_no_exception_from_it(people, path):
    answer = let_in(people, "ada").get(path)
    assert answer.headers["content-security-policy"] == POLICY
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "style=" not in answer.text
    assert "<style" not in answer.text
    assert not re.search(r"<script(?![^>]*src=)|\son[a-z]+=", answer.text)
    assert not re.search(r'(?:src|href|action)="(?:https?:)?//', answer.text)


def test_files_of_the_look_are_kept_for_good_under_their_digest(people):
    client = visitor(people)
    address = re.search(r'href="(/static/etsched-[0-9a-f]{16}\.css)"', client.get("/sign-in").text)[1]
    assert "immutable" in client.get(address).headers["cache-control"]
    assert client.get(address.replace("etsched-", "etsched-0")).status_code == 404
    assert client.get("/static/..%2Fapp.py").status_code == 404


def test_the_worker_is_looked_for_anew_and_may_ask_this_service_alone(people):
    answer = visitor(people).get("/worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache"
    assert answer.headers["content-security-policy"] == "default-src 'none'; connect-src 'self'"


def test_every_page_leads_to_its_words(people):
    client = let_in(people, "ada")
    others = ("/sites/grange/heat", "/sites/grange/visit", "/sites/other-place", "/sites/no-such", "/nowhere")
    for path in (*READ, *others):
        assert '<a href="/words' in client.get(path).text, path
    told = html.unescape(client.get("/words").text)
    assert '<a href="/sites/grange">' not in told
    # From a property one comes back to it, and to no other.
    assert '<a href="/words?from=grange">' in client.get("/sites/grange").text
    assert '<a href="/sites/grange">Week' in client.get("/words?from=grange").text.replace("\n", "")
    for other in ("no-such", "../x", '"><b>'):
        assert "/sites/" not in client.get("/words", params={"from": other}).text
    words = [word for group in word_groups() for word in group.words]
    assert all(f'id="{word.anchor}"' in told and word.says in told for word in words)
    assert len(words) > 30


def test_every_page_names_its_icon(people):
    client = let_in(people, "ada")
    for path in (*READ, "/sign-in", "/sites/no-such"):
        address = re.search(r'<link rel="icon" type="image/svg\+xml" href="([^"]+)">', client.get(path).text)[1]
        icon = client.get(address)
        assert (icon.status_code, icon.headers["content-type"]) == (200, "image/svg+xml"), path


def test_page_csv_and_json_show_the_same_minutes(people):
    """What a person keys in, what a spreadsheet adds up and what a program reads, station by station."""
    client = let_in(people, "mia")
    page = html.unescape(client.get("/sites/grange").text)
    rows = re.findall(r'<tr class="(?:runs|rests|short|blocked)">(.*?)</tr>', page, re.DOTALL)
    on_page = {
        int(re.search(r'class="valve">(\d+)<', row)[1]): int(re.search(r'data-name="Week">(\d+)<', row)[1])
        for row in rows
    }
    in_csv = {}
    for line in csv.DictReader(io.StringIO(client.get("/sites/grange/week.csv").text)):
        terminal = int(line["terminal"])
        in_csv[terminal] = in_csv.get(terminal, 0) + int(line["minutes"])
    week = json.loads(client.get("/sites/grange/week.json").text)
    in_json = {row["terminal"]: row["minutes"] for row in week["stations"]}
    in_tables = {row.terminal: row.minutes for row in week_table(week_plan(people.service, "grange")[1]).rows}
    assert on_page == in_csv == in_json == in_tables
    assert sum(on_page.values()) > 0


def test_page_csv_and_json_show_the_same_cost(people):
    client = let_in(people, "mia")
    page = html.unescape(client.get("/sites/grange").text)
    rows = re.findall(r"<tr>(.*?)</tr>", page.split("what it costs</label>")[1].split("</section>")[0], re.DOTALL)
    cost = re.compile(r'data-name="Cost">([^<]+)<')
    on_page = {int(m[1]): cost.search(row)[1] for row in rows if (m := re.search(r'class="valve">(\d+)<', row))}
    lines = csv.DictReader(io.StringIO(client.get("/sites/grange/week.csv").text))
    in_csv = {int(line["terminal"]): f"{line['week_cost_USD']} USD" for line in lines if int(line["week_minutes"])}
    week = json.loads(client.get("/sites/grange/week.json").text)
    in_json = {row["terminal"]: row["cost"] for row in week["stations"] if row["minutes"]}
    assert on_page == in_csv == in_json
    assert len(on_page) > 10
    # 5.20 USD a thousand gallons, 3785.411784 L.
    assert week["totals"]["cost_money"] == pytest.approx(5.20 * week["totals"]["volume_l"] / 3785.411784)
    assert cost.search(rows[-1])[1] == week["totals"]["cost"]
    assert page.count(week["totals"]["cost"]) == 2  # the head of the page and the sum of the table


def test_downloads_say_what_they_are(people):
    client = let_in(people, "mia")
    kinds = {kind: client.get(f"/sites/grange/week.{kind}") for kind in ("csv", "json", "ics")}
    assert [answer.status_code for answer in kinds.values()] == [200, 200, 200]
    page = client.get("/sites/grange").text
    assert all(f'href="/sites/grange/week.{kind}' in page for kind in ("pdf", *kinds))
    assert 'href="/sites/grange/door.pdf' in client.get("/sites/grange/door").text
    assert kinds["ics"].text.count("BEGIN:VEVENT") > 0
    assert kinds["csv"].headers["content-disposition"] == 'attachment; filename="grange-week.csv"'


@pytest.fixture
def pdf():
    """Read a PDF's pages; without what makes one, the tests of it are skipped."""
    try:
        import weasyprint  # noqa: F401
    except OSError:
        pytest.skip("no Pango on this machine; as root: apt-get install -y libpango-1.0-0 libpangoft2-1.0-0")
    return lambda answer: PdfReader(io.BytesIO(answer.content)).pages


@pytest.mark.parametrize(("asked", "width"), [("", 612.0), ("?paper=letter", 612.0), ("?paper=a4", 595.3)])
@pytest.mark.parametrize("what", ["week", "door"])
def test_the_sheets_for_the_controller_are_pdfs_of_one_page(people, pdf, what, asked, width):
    """Letter is 8.5 in wide, A4 210 mm; the property reads US units, and the week of seven nights lies on its side."""
    answer = let_in(people, "mia").get(f"/sites/grange/{what}.pdf{asked}")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    assert answer.headers["content-disposition"] == f'attachment; filename="grange-{what}.pdf"'
    (page,) = pdf(answer)
    upright = page.mediabox.width if what == "door" else page.mediabox.height
    assert float(upright) == pytest.approx(width, abs=0.1)


def test_the_pdf_shows_the_figures_of_the_page(people, pdf):
    (page,) = pdf(let_in(people, "mia").get("/sites/grange/week.pdf"))
    told = page.extract_text()
    table = week_table(week_plan(people.service, "grange")[1])
    lines = [" ".join(line.split()) for line in told.splitlines()]
    for row in table.rows:
        (line,) = [line for line in lines if re.match(rf"{row.terminal} [*!x]*( |$).*{re.escape(row.area)}", line)]
        assert line.endswith(f" {row.minutes} {row.depth.number}"), row.area
        assert all(cell.start in line and cell.cycles in line for cell in row.cells if cell)
    week = json.loads(let_in(people, "mia").get("/sites/grange/week.json").text)
    assert all(week["totals"][name] in " ".join(lines) for name in ("volume", "cost", "eto"))


def test_a_paper_that_is_none_is_refused(people):
    answer = let_in(people, "mia").get("/sites/grange/week.pdf?paper=<b>")
    assert answer.status_code == 400
    assert "There is no such paper here; write letter or a4." in answer.text


@pytest.mark.parametrize("path", ["/sites/grange/week.pdf", "/sites/grange/door.pdf"])
def test_without_the_extra_a_page_says_what_to_install(people, monkeypatch, path):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    answer = let_in(people, "mia").get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (503, "text/html; charset=utf-8")
    assert 'pip install "etsched[pdf]"' in html.unescape(answer.text)


def test_the_root_zone_is_drawn_beside_its_table(people):
    client = let_in(people, "mia")
    assert 'src="/sites/grange/root-zone/1.svg"' in client.get("/sites/grange/water/1").text
    drawn = client.get("/sites/grange/root-zone/1.svg")
    assert (drawn.status_code, drawn.headers["content-type"]) == (200, "image/svg+xml")
    assert "script" not in drawn.headers["content-security-policy"]
    assert "root zone of station 1" in " ".join(re.sub(r"<[^>]+>", " ", drawn.text).split())
    assert client.get("/sites/grange/root-zone/999.svg").status_code == 404
