"""Setting windows and lay-down times: common practice, no source, unless named."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayhelper.reckon.window import (
    closing_margin_s,
    first_trial_s,
    lay_down_s,
    next_trial_s,
    nominal_window,
    usual_lay_down_s,
)
from bayhelper.terms.events import Window
from bayhelper.terms.product import Product, SettingTimes

GLOSS = Product(
    id="gloss",
    name="gloss",
    kind="coating",
    setting=SettingTimes(
        earliest_s=180, best_s=300, latest_s=480, reference_c=21, reference_rh_percent=50
    ),
)


def gloss() -> Window:
    window = nominal_window(GLOSS)
    assert window is not None
    return window


def test_the_nominal_window_is_the_sheets_and_says_so():
    window = gloss()
    assert (window.earliest_s, window.best_s, window.latest_s) == (180, 300, 480)
    assert window.product == "gloss"
    assert "21 degrees" in window.basis
    assert "50 percent" in window.basis


def test_what_does_not_set_has_no_window():
    assert nominal_window(replace(GLOSS, setting=None)) is None


def test_first_trial_after_two_of_five_minutes_then_every_minute():
    assert first_trial_s(gloss()) == 120
    assert next_trial_s(gloss(), 120) == 180


def test_a_bonnet_takes_one_to_three_minutes():
    assert 60 <= lay_down_s(1.5, 90) <= 180


def test_without_measurements_the_plan_decides():
    assert usual_lay_down_s(2.0, 90, ()) == 180


def test_the_person_is_learned_and_one_interruption_forgotten():
    quick = [(1.0, 60.0)] * 4
    assert usual_lay_down_s(1.0, 90, quick) == 60
    assert usual_lay_down_s(1.0, 90, [*quick, (1.0, 1800.0)]) == pytest.approx(60)
    assert usual_lay_down_s(1.0, 90, [(1.0, 1800.0)]) == 90


@given(st.lists(st.tuples(st.floats(0.1, 3), st.floats(5, 600)), max_size=9), st.floats(20, 200))
def test_the_usual_time_lies_between_plan_and_measurements(measured, plan):
    rates = [seconds / m2 for m2, seconds in measured] + [plan]
    usual = usual_lay_down_s(1.0, plan, measured)
    assert min(rates) - 1e-9 <= usual <= max(rates) + 1e-9


def test_nothing_is_learned_from_no_area_or_no_time():
    assert usual_lay_down_s(1.0, 90, [(0.0, 50.0), (1.0, 0.0)]) == 90


@given(best_s=st.floats(20, 600), share=st.floats(1.0, 2.0))
def test_closing_leaves_time_to_act_in_every_window(best_s, share):
    window = replace(gloss(), best_s=best_s, latest_s=best_s * share)
    margin_s = closing_margin_s(window)
    assert 0 < margin_s <= 60
    assert margin_s < window.latest_s
