"""The sheets as PDF: one page for forty stations, the paper asked for, texts as they are, nothing fetched."""

import io
import logging
import socket
import sys
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader

from etsched.errors import PdfMissing
from etsched.reports import paper
from etsched.reports.paper import clock_pdf, usual_paper, week_pdf
from etsched.usecases.clock import ClockNow, clock_from_inputs
from etsched.usecases.inputs import read_inputs
from etsched.usecases.week import Before
from tests.browser.conftest import forty_stations
from tests.reports.sample_week import large_week, priced, renamed, sample_week

try:
    import weasyprint  # noqa: F401 - whether it can be loaded
except OSError:
    pytestmark = pytest.mark.skip(
        reason="no Pango on this machine; as root: apt-get install -y libpango-1.0-0 libpangoft2-1.0-0"
    )

# Letter is 8.5 × 11 in at 72 points an inch, A4 210 × 297 mm (ISO 216).
LETTER, A4 = (612.0, 792.0), (595.276, 841.890)


def read(pdf):
    return PdfReader(io.BytesIO(pdf))


def size(page):
    return pytest.approx((float(page.mediabox.width), float(page.mediabox.height)), abs=0.1)


def words(reader):
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


class _Monday:
    def today(self, zone):
        return date(2026, 7, 13)


@pytest.fixture(scope="module")
def clock_of_forty(root, tmp_path_factory):
    site = tmp_path_factory.mktemp("forty") / "site.toml"
    site.write_text(forty_stations((root / "demo" / "site.toml").read_text("utf-8")), "utf-8")
    inputs = read_inputs(site, root / "demo" / "weather.csv", None, _Monday())
    return clock_from_inputs(inputs, ClockNow(), Before()).table


@pytest.mark.parametrize(("name", "upright"), [("letter", LETTER), ("a4", A4)])
@pytest.mark.parametrize(("nights", "lying"), [(3, False), (7, True)])
def test_forty_stations_are_on_one_page_of_the_paper_asked_for(name, upright, nights, lying):
    made = read(week_pdf(priced(large_week(40, nights)), name))
    assert len(made.pages) == 1
    assert size(made.pages[0]) == (upright[::-1] if lying else upright)
    told = words(made)
    assert "Clay bank by the steps 38" in told
    assert "BLOCKED valve weeps and does not close" in told
    assert told.count("init.") >= nights


def test_more_stations_go_on_with_their_heads_on_the_next_page():
    made = read(week_pdf(large_week(70, 7), "letter"))
    assert len(made.pages) > 1
    assert all("Mon Jul 13" in " ".join(page.extract_text().split()) for page in made.pages)


def test_long_names_make_the_print_smaller_and_not_a_second_page():
    plan = large_week(40, 5)
    stations = tuple(replace(each, area=f"{'Long name of a lawn ' * 4}{each.terminal}") for each in plan.site.stations)
    made = read(week_pdf(replace(plan, site=replace(plan.site, stations=stations)), "letter"))
    assert len(made.pages) == 1


def test_the_sheet_says_what_the_page_says():
    """By hand: 160 watering minutes; 960 + 680 + 640 + 440 L at 2 EUR a cubic metre."""
    told = words(read(week_pdf(priced(sample_week()), "a4")))
    for text in ("Larkmoor Green", "Watering minutes 160", "at least 719 gal", "at least 5.44 EUR", "10:42 pm 12+11"):
        assert text in told
    assert "Before you open the cabinet" in told


def test_a_week_without_any_water_is_still_a_sheet():
    made = read(week_pdf(replace(sample_week(), nights=(), assumptions=(), notes=()), "letter"))
    assert "blocked: valve does not open by hand" in words(made)


@pytest.mark.parametrize(("name", "upright"), [("letter", LETTER), ("a4", A4)])
def test_the_paper_for_the_door_is_one_page(clock_of_forty, name, upright):
    made = read(clock_pdf(clock_of_forty, name))
    assert (len(made.pages), size(made.pages[0])) == (1, upright)
    told = words(made)
    for program in clock_of_forty.programs:
        assert program.letter in told
    assert "Parking islands" in told
    assert "Set percent adjust to 100% in" in told


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "</style><b>", "{{ 7*7 }}", "<img src=file:///etc/hosts>"]
)
def test_hostile_text_is_printed_and_never_obeyed(text):
    made = read(week_pdf(renamed(sample_week(), text), "letter"))
    told = words(made)
    assert told.replace(" ", "").count(text.replace(" ", "")) >= 3
    assert "49" not in told
    assert "/JavaScript" not in str(made.trailer["/Root"])


def test_nothing_is_fetched_from_anywhere(tmp_path, caplog):
    (tmp_path / "secret.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'><text>secret</text></svg>", "utf-8")
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.2)
        there = f"http://127.0.0.1:{server.getsockname()[1]}"
        file = (tmp_path / "secret.svg").as_uri()
        paper._document(
            f"<link rel=stylesheet href={there}/a.css><img src={there}/b.png><img src={file}><img src='data:,a'>"
        )
        with pytest.raises(TimeoutError):
            server.accept()
    assert caplog.text.count("disallowed protocol") == 4


def test_its_styles_are_all_understood(clock_of_forty, caplog):
    caplog.set_level(logging.WARNING)
    week_pdf(priced(sample_week()), "a4")
    clock_pdf(clock_of_forty, "letter")
    assert caplog.text == ""


@pytest.mark.parametrize("lack", [None, OSError("cannot load library 'libpango-1.0-0'")])
def test_without_the_extra_one_is_told_what_to_install(lack, monkeypatch):
    if lack is None:
        monkeypatch.setitem(sys.modules, "weasyprint", None)
    else:
        monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
        monkeypatch.setattr("builtins.__import__", _without("weasyprint", lack, __import__))
    with pytest.raises(PdfMissing, match=r'pip install "etsched\[pdf\]".*libpango-1.0-0.*browser'):
        week_pdf(sample_week(), "a4")


def _without(name, lack, ordinary):
    def load(wanted, *more, **named):
        if wanted == name:
            raise lack
        return ordinary(wanted, *more, **named)

    return load


def test_letter_is_for_who_reads_us_units():
    assert (usual_paper("us"), usual_paper("metric")) == ("letter", "a4")
