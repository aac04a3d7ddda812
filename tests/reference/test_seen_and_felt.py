"""The words of a visit and the feel table: complete, unambiguous, as printed."""

import pytest

from etsched.reference.causes import cause_entries
from etsched.reference.feel import feel_classes, feel_deficit, feel_deficit_in, feel_shares, texture_group
from etsched.reference.signs import sign_groups, signs, spoken
from etsched.reference.tables import soil_textures


def test_no_phrase_means_two_things():
    everything = signs("pattern", "colour", "sign")
    phrases = [phrase for each in everything.values() for phrase in (each.name, *each.say)]
    assert len(phrases) == len(set(phrases)) == len(spoken("pattern", "colour", "sign"))
    assert spoken("pattern")["wedges"] == spoken("pattern")["wedge by head"] == "wedge_by_head"


def test_every_sign_has_words_and_a_source():
    for each in signs("pattern", "colour", "sign", "insect").values():
        assert each.words.strip()
        assert each.source.strip()


def test_what_a_person_may_write_bears_on_a_cause():
    bearing = {sign for entry in cause_entries() for sign in entry.evidence}
    assert set(signs("sign")) | set(signs("pattern")) <= bearing
    # Plain colours describe and tell no causes apart.
    assert set(signs("colour")) - bearing == {"brown", "straw", "green", "dark"}


def test_every_sign_stands_in_one_group_or_is_read():
    grouped = [sign for group in sign_groups().values() for sign in group]
    # How long a drop sits and whether the turf lifts have fields of their own.
    assert sorted([*grouped, "water_beads", "water_soaks_in", "lifts_like_carpet"]) == sorted(signs("sign"))


def test_the_classes_cover_the_available_water_without_a_gap():
    shares = [(each.low_fraction, each.high_fraction) for each in feel_classes()]
    assert shares == [(0, 0.25), (0.25, 0.5), (0.5, 0.75), (0.75, 1), (1, 1)]
    assert feel_shares()["at field capacity"] == (1, 1)


# USDA-NRCS: inches short of field capacity per foot, from the dry end to the wet end of each band.
PRINTED = {
    "dry": ("1.2–0.5", "1.7–1.0", "2.1–1.1", "2.4–1.2"),
    "slightly moist": ("0.9–0.3", "1.3–0.7", "1.6–0.8", "1.8–0.8"),
    "moist": ("0.6–0.2", "0.9–0.3", "1.1–0.4", "1.2–0.4"),
    "wet": ("0.3–0", "0.4–0", "0.5–0", "0.6–0"),
    "at field capacity": ("0–0", "0–0", "0–0", "0–0"),
}


@pytest.mark.parametrize("key", PRINTED)
def test_inches_stand_as_printed(key):
    groups = ("coarse", "moderately coarse", "medium", "fine")
    for group, printed in zip(groups, PRINTED[key], strict=True):
        dry_end, wet_end = map(float, printed.split("–"))
        assert feel_deficit_in(group, key) == (wet_end, dry_end)


def test_every_texture_has_its_group():
    groups = [texture_group(soil) for soil in soil_textures()]
    assert set(groups) == {"coarse", "moderately coarse", "medium", "fine"}
    assert [texture_group(soil) for soil in ("sand", "sandy loam", "loam", "clay")] == [
        "coarse",
        "moderately coarse",
        "medium",
        "fine",
    ]


def test_a_soils_own_inches_come_in_millimetres_with_their_source():
    found = feel_deficit("clay loam", "dry")
    assert (found.low, found.high) == pytest.approx((1.2 * 25.4, 2.4 * 25.4))
    assert "NRCS" in found.source
