from __future__ import annotations

import re

from etsched.documents.site_file import parse_site
from etsched.documents.starter import starter_site
from etsched.model.site import Basis


def test_the_starter_is_read_as_it_stands():
    site = parse_site(starter_site(), "starter.toml")
    assert [station.terminal for station in site.stations] == [1, 2]
    assert {station.precip_rate.basis for station in site.stations} == {Basis.MEASURED, Basis.FROM_FLOW}


def test_every_line_it_offers_in_a_comment_is_read_too():
    offered = re.compile(r"^# (\w+ = |\[\[?\w+\]\]?$)", re.MULTILINE)
    text, count = offered.subn(r"\1", starter_site())
    assert count >= 15
    site = parse_site(text, "starter.toml")
    assert site.notes
    assert (site.bans[0].terminals, site.controller.programs_count, site.rules.valve_delay_min) == ({1}, 4, 1)
    assert site.water_price.stated == "4.10 USD/kgal"
    assert site.stations[1].blocked
    assert site.stations[1].least_cycle.value == 3


def test_it_cautions_where_the_work_can_hurt():
    text = " ".join(starter_site().replace("#", " ").split())
    for words in ("Valve boxes", "mains voltage", "before you dig", "under pressure", "rules of the place"):
        assert words in text
    for how in ("catch-cup", "soil probe", "water meter", "runs off"):
        assert how in text
