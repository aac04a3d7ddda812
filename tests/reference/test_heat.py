"""Advice and figures for hot days."""

from __future__ import annotations

from typing import get_args

from etsched.reference import heat


def test_percent_adjust_says_that_it_is_practice():
    step, most = heat.percent_adjust("step"), heat.percent_adjust("most")
    assert (step.value, most.value) == (5.0, 200.0)
    assert step.mark == most.mark == "practice"


def test_every_piece_of_advice_has_a_case_and_a_source():
    cases = get_args(heat.When)
    given = heat.advice()
    assert {each.when for each in given} == set(cases)
    assert all(each.words.endswith(".") and each.source for each in given)
    assert "from memory" in next(each.source for each in given if each.key == "light_sprinkling")


def test_restrictions_come_first_and_work_in_heat_has_its_caution():
    first, second = heat.advice()[:2]
    assert "override" in first.words
    assert "pairs" in second.words
