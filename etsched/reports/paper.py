"""The sheets that go to the controller as PDF: the week on one page, and the programs for the inside of its door.

WeasyPrint makes them where the extra `pdf` is installed. It is given no way to fetch anything: what a sheet shows
stands in its own HTML.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, Literal

from etsched.errors import PdfMissing
from etsched.reports.clock_page import clock_values
from etsched.reports.week_page import page_environment, week_values

if TYPE_CHECKING:
    from etsched.model.clock_table import ClockTable
    from etsched.model.plan import WeekPlan
    from etsched.units import UnitSystem

Paper = Literal["letter", "a4"]
PAPERS: dict[Paper, str] = {"letter": "Letter", "a4": "A4"}
# Width and height of an upright sheet in mm.
_SIZES = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
# What margins, head, legend and the lines to sign take of the height, and how high a row may be in between.
_AROUND_MM = {"portrait": 82.0, "landscape": 74.0}
_CLOCK_AROUND_MM = 125.0  # the starts above its rows and what to know below them are more
_ROW_MM = (3.0, 7.5)
# The print that as many nights leave room for; beyond three they lie on their side.
_UPRIGHT_NIGHTS = 3
_FONT_PT = {0: 8.5, 1: 8.5, 2: 8.5, 3: 8.0, 4: 8.0, 5: 8.0, 6: 7.2, 7: 6.6}
_CLOCK_FONT_PT = 9.0
# So many stations get all onto one page; the print becomes smaller, in such steps and so often, until they are there.
ONE_PAGE_STATIONS = 40
_SMALLER, _STEPS = 0.92, 5


def usual_paper(units: str) -> Paper:
    """Give the paper of who reads such units: Letter in the United States, else A4."""
    return "letter" if units == "us" else "a4"


def week_pdf(plan: WeekPlan, paper: Paper, system: UnitSystem | None = None) -> bytes:
    """Write the week's table with room for initials. Raises PdfMissing."""
    values = week_values(plan, system)
    nights, rows = len(values["watering"]), values["table"].rows
    sheet = "portrait" if nights <= _UPRIGHT_NIGHTS else "landscape"
    units = {row.depth.unit for row in rows if row.depth.unit}
    about = {"paper": paper, "sheet": sheet, "depth_unit": " ".join(units), "around_mm": _AROUND_MM[sheet]}
    font_pt = _FONT_PT.get(nights, _FONT_PT[7])
    return _fitted("paper_week.html.j2", {**values, **about}, font_pt, len(rows))


def clock_pdf(table: ClockTable, paper: Paper, system: UnitSystem | None = None) -> bytes:
    """Write the programs of an ordinary clock with a box to tick for each entry. Raises PdfMissing."""
    values = clock_values(table, None, system)
    about = {"paper": paper, "around_mm": _CLOCK_AROUND_MM}
    return _fitted("paper_clock.html.j2", {**values, **about}, _CLOCK_FONT_PT, len(values["table"].rows))


def _fitted(template: str, values: Mapping[str, Any], font_pt: float, rows: int) -> bytes:
    """Set a sheet on one page if that many stations belong on one, else on as many as it takes."""
    made: Any = None
    for size_pt, row_mm in _sizes(values, font_pt, rows):
        sized = {**values, "font_pt": size_pt, "row_mm": row_mm}
        made = _document(page_environment().get_template(template).render(sized))
        if len(made.pages) == 1 or rows > ONE_PAGE_STATIONS:
            break
    pdf: bytes = made.write_pdf()
    return pdf


def _sizes(values: Mapping[str, Any], font_pt: float, rows: int) -> Iterator[tuple[float, float]]:
    """Give sizes of print and heights of rows, the roomiest first."""
    height_mm = _SIZES[values["paper"]][values["sheet"] == "portrait"] - values["around_mm"]
    row_mm = min(max(height_mm / max(rows, 1), _ROW_MM[0]), _ROW_MM[1])
    for _ in range(_STEPS):
        yield round(font_pt, 2), round(row_mm, 2)
        font_pt, row_mm = font_pt * _SMALLER, max(row_mm * _SMALLER, _ROW_MM[0])


def _document(html: str) -> Any:  # noqa: ANN401 - WeasyPrint brings no types
    try:
        from weasyprint import HTML  # type: ignore[import-untyped]
        from weasyprint.urls import URLFetcher  # type: ignore[import-untyped]
    except (ImportError, OSError) as error:  # OSError: the package is there, the libraries it loads are not
        raise PdfMissing(
            "this service makes no PDF, since it lacks what sets one; whoever runs it installs it with "
            'pip install "etsched[pdf]" and, on Debian, apt-get install libpango-1.0-0 libpangoft2-1.0-0 '
            "libharfbuzz-subset0; until then the page prints as well from the browser, which can save it as PDF too"
        ) from error
    return HTML(string=html, url_fetcher=URLFetcher(allowed_protocols=())).render()
