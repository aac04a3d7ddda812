"""The table of causes holds together: every sign leads somewhere, every test tells something."""

import pytest

from etsched.reference import causes
from etsched.reference.figure import table
from etsched.reference.signs import signs

# What a person writes on a phone, as signs.toml words it.
SEEN = {
    "footprints_stay",
    "dull_grey",
    "worst_by_paving",
    "high_spots",
    "south_slope",
    "wedge_by_head",
    "arc_by_head",
    "straight_edges",
    "probe_stops_in_brown",
    "green_arc_brown_beyond",
    "orange_tone",
    "spreader_stripes",
    "after_feeding",
    "rings",
    "tan_lesions",
    "hot_damp_nights",
    "pale_all_over",
    "oldest_leaves_first",
    "youngest_leaves_yellow",
    "green_veins",
    "lifts_like_carpet",
    "birds_digging",
    "soft_dark_soggy",
    "scattered_sharp_patches",
    "many_patterns",
    "frayed_tips",
    "pet_spots",
    "water_beads",
}
BEARING = {sign for entry in causes.cause_entries() for sign in entry.evidence}
WORDED = signs("pattern", "colour", "sign")
LEFT = {sign for test in causes.trials() for outcome in test.outcomes for sign in outcome}
READ = {entry["sign"] for entry in table("causes.toml")["reading"]}
SETTLED = {sign for test in causes.trials() for sign in test.settled}


def test_every_sign_a_person_may_write_bears_on_a_cause():
    assert SEEN <= BEARING


def test_what_tests_and_readings_leave_bears_on_a_cause_and_has_words():
    assert LEFT | READ <= BEARING | SETTLED
    assert set(table("causes.toml")["words"]) | set(WORDED) >= BEARING | SETTLED


def test_no_sign_is_worded_in_two_tables():
    of_readings = set(table("causes.toml")["words"])
    assert of_readings & set(WORDED) == set()
    assert of_readings <= BEARING | SETTLED


def test_evidence_is_said_in_the_words_of_what_was_seen():
    lines = {line.sign: line.words for entry in causes.cause_entries() for line in entry.evidence.values()}
    assert lines["wedge_by_head"] == "wedges by heads"  # signs.toml
    # causes.toml, since cups are read and not seen
    assert lines["cups_even"] == "the driest quarter of the cups got 70% of the mean and more"


def test_weights_and_sources_are_known():
    lines = [line for entry in causes.cause_entries() for line in entry.evidence.values()]
    assert {line.weight for line in lines} == {"strong", "some", "fits", "against", "excludes"}
    assert all(line.source.strip() for line in lines)
    assert {entry.acts for entry in causes.cause_entries()} == {"water", "care", "feeding", "chemistry"}


def test_causes_of_water_stand_first():
    acts = [entry.acts == "water" for entry in causes.cause_entries()]
    assert acts == sorted(acts, reverse=True)


def test_every_cause_can_be_supported_and_has_a_test():
    for entry in causes.cause_entries():
        weights = [line.weight for line in entry.evidence.values()]
        assert "strong" in weights or weights.count("some") > 1
        assert entry.evidence.keys() & LEFT, entry.key


@pytest.mark.parametrize(
    ("name", "value", "sign"),
    [
        ("drop_s", 10.1, "water_beads"),  # more than 10 s repels
        ("drop_s", 10.0, "water_soaks_in"),
        ("grubs_count", 6, "grubs_over_threshold"),  # UC: 6 and more act
        ("grubs_count", 5, "grubs_under_threshold"),
        ("chinch_bugs_count", 15, "chinch_bugs_over_threshold"),
        ("webworms_count", 15 / 9 + 0.001, "webworms_over_threshold"),  # 15 a square yard of 9 square feet
        ("webworms_count", 14 / 9, "webworms_under_threshold"),
        ("uniformity_fraction", 0.49, "cups_uneven"),
        ("of_use_pct", 79, "clock_gives_too_little"),
        ("of_use_pct", 100, "clock_gives_enough"),
        ("brown_moist_mm", 4 * 25.4, "brown_core_moist"),
        ("brown_moist_mm", 1.9 * 25.4, "brown_core_dry"),
        ("thatch_mm", 12.7, "thin_thatch"),
    ],
)
def test_readings_leave_the_sign_of_their_threshold(name, value, sign):
    assert causes.signs_of_readings({name: value}) == {sign}


def test_between_two_thresholds_a_reading_bears_on_no_cause_and_of_unknown_ones_nothing_is_left():
    between = causes.signs_of_readings({"of_use_pct": 90, "uniformity_fraction": 0.6, "unheard_of": 1})
    assert between == {"clock_gives_nearly", "cups_between"}
    assert not between & BEARING
    assert causes.signs_of_readings({"of_use_pct": 150}) == {"clock_gives_enough", "clock_gives_too_much"}


def test_a_sign_without_words_is_said_by_its_key():
    assert causes.sign_words("never_heard_of") == "never heard of"
