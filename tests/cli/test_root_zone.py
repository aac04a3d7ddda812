"""The picture of a station's water, as a person asks for it."""

import json
from xml.etree import ElementTree

from tests.charts.made_days import panel, texts
from tests.cli.called import etsched
from tests.cli.test_commands import DEMO, SITE, TODAY, WEATHER


def test_the_picture_goes_to_a_file_and_the_working_to_the_terminal(tmp_path):
    done = etsched("why", SITE, 7, WEATHER, *TODAY, "--chart", "water.svg", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "Written: water.svg\n")
    assert "Water books of station 7" in done.stdout
    svg = ElementTree.parse(tmp_path / "water.svg").getroot()  # noqa: S314 - our own
    assert "station 7" in (svg[0].text or "")


def test_on_standard_output_it_stands_alone_and_holds_the_figures_of_the_books():
    drawn = etsched("why", SITE, 7, WEATHER, *TODAY, "--units", "metric", "--chart", "-").stdout
    books = json.loads(etsched("why", SITE, 7, WEATHER, *TODAY, "--json", "-").stdout)["books"]
    cells = texts(panel(ElementTree.fromstring(drawn), "figures"))  # noqa: S314 - our own
    begin = cells.index("dusk") + 1
    assert cells[begin : begin + 7] == [f"{line['end_mm']:.1f}" for line in books]


def test_a_visit_is_told(tmp_path):
    visit = str(SITE).replace("site.toml", "visit-1.toml")
    drawn = etsched("why", SITE, 7, WEATHER, *TODAY, "--visit", visit, "--chart", "-").stdout
    assert "Visited: Mon Jul 13." in drawn


def test_a_place_that_cannot_be_written_is_said(tmp_path):
    done = etsched("why", SITE, 7, WEATHER, *TODAY, "--chart", tmp_path / "nowhere" / "a.svg")
    assert done.returncode == 6
    assert "it cannot be written" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_result_is_never_written_over_what_is_read(tmp_path):
    visit, link = tmp_path / "visit.toml", tmp_path / "result.json"
    record = (DEMO / "visit-1.toml").read_bytes()
    visit.write_bytes(record)
    link.symlink_to(visit)
    words = ("why", SITE, 7, WEATHER, *TODAY, "--visit", visit, "--chart", tmp_path / "a.svg", "--json", link)
    done = etsched(*words)
    assert (done.returncode, done.stdout) == (6, "")
    assert done.stderr.endswith(f"{link}: it is read from and stays as it is; name another file for the result.\n")
    assert visit.read_bytes() == record
    assert not (tmp_path / "a.svg").exists()


def test_two_results_never_go_to_one_place(tmp_path):
    words = ("why", SITE, 7, WEATHER, *TODAY)
    for place, named in ((tmp_path / "a", str(tmp_path / "a")), ("-", "standard output")):
        done = etsched(*words, "--json", place, "--chart", place)
        assert (done.returncode, done.stdout) == (6, "")
        assert done.stderr.endswith(f"{named}: two results would go there; name one place for each.\n")
    assert not (tmp_path / "a").exists()
