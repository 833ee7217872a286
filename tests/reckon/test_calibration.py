"""Trial wipes and what they say about the day. Common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayhelper.reckon.calibration import Day, TrialReport, calibrate
from bayhelper.sheets.products import load_product
from bayhelper.terms.errors import ReckonError
from tests.known import known

SETTING = known(load_product("demo_gloss").setting)
REPORTS = st.lists(
    st.builds(
        TrialReport,
        st.sampled_from(("wet", "clean", "grabbing")),
        st.floats(30, 900),
        age_s=st.floats(0, 20_000),
        rate=st.floats(0.5, 2),
    ),
    min_size=1,
    max_size=6,
)


def day(*reports: tuple[str, float]) -> Day:
    return calibrate(SETTING, [TrialReport(result, at_s) for result, at_s in reports])  # type: ignore[arg-type]


def width(found: Day) -> float:
    return found.high / found.low


def test_without_reports_the_sheet_stands():
    found = day()
    assert (found.factors.earliest, found.factors.best, found.factors.latest) == (1, 1, 1)
    assert not found.factors.calibrated and not found.bracketed and not found.contradictory
    assert found.low < 1 < found.high


@pytest.mark.parametrize(("wet_s", "clean_s"), [(90, 150), (120, 180), (180, 240), (240, 300)])
def test_clean_after_wet_brackets_the_earliest_time(wet_s, clean_s):
    found = day(("wet", wet_s), ("clean", clean_s))
    assert found.bracketed
    assert wet_s <= found.factors.earliest * SETTING.earliest_s <= clean_s
    assert width(found) < width(day())


def test_without_grabbing_the_late_edge_keeps_the_sheets_width():
    for found in (day(("wet", 120), ("clean", 180)), day(("clean", 400)), day(("wet", 240))):
        assert found.factors.latest == pytest.approx(found.factors.best)


def test_grabbing_alone_moves_the_late_edge_and_only_inwards():
    before = day(("wet", 120), ("clean", 180))
    after = day(("wet", 120), ("clean", 180), ("grabbing", 300))
    assert after.factors.latest < 0.8 * before.factors.latest
    assert day(("grabbing", 900)).factors.latest <= day(("grabbing", 900)).factors.best
    assert after.factors.latest * SETTING.latest_s >= after.factors.best * SETTING.best_s - 1e-9


@settings(deadline=None, max_examples=40)
@given(REPORTS, st.randoms(use_true_random=False))
def test_the_order_of_reports_does_not_matter(reports, random):
    shuffled = list(reports)
    random.shuffle(shuffled)
    assert calibrate(SETTING, shuffled) == calibrate(SETTING, reports)


@settings(deadline=None, max_examples=40)
@given(REPORTS)
def test_the_window_stays_a_window(reports):
    factors = calibrate(SETTING, reports).factors
    earliest_s = factors.earliest * SETTING.earliest_s
    best_s = factors.best * SETTING.best_s
    assert 0 < earliest_s <= best_s + 1e-9
    assert best_s <= factors.latest * SETTING.latest_s + 1e-9


@settings(deadline=None, max_examples=40)
@given(st.floats(60, 400), st.floats(1.1, 2), st.floats(1.1, 2), st.booleans())
def test_a_contradiction_widens_and_is_flagged(clean_s, wider, later, twice):
    reports = [("wet", clean_s / wider), ("clean", clean_s)]
    before = day(*reports)
    after = day(*reports, ("wet", clean_s * later))
    assert after.contradictory and not before.contradictory
    assert after.low <= before.low + 1e-9 and after.high >= before.high - 1e-9
    assert after.factors.earliest <= before.factors.earliest + 1e-9
    if twice:
        again = day(*reports, ("wet", clean_s * later), ("wet", clean_s * later * 1.01))
        assert again.low <= after.low + 1e-9 and again.high >= after.high - 1e-9


def test_recent_reports_weigh_more():
    def best(clean_age_s: float, wet_age_s: float) -> float:
        found = calibrate(
            SETTING,
            [
                TrialReport("clean", 150, age_s=clean_age_s),
                TrialReport("wet", 260, age_s=wet_age_s),
            ],
        )
        return found.factors.best

    assert best(0, 7200) < best(7200, 0)


def test_reports_from_other_air_weigh_less():
    near = calibrate(SETTING, [TrialReport("clean", 120, rate=1.0)], rate=1.0)
    far = calibrate(SETTING, [TrialReport("clean", 120, rate=1.0)], rate=2.0)
    assert near.factors.best < far.factors.best < 1


def test_a_wet_report_makes_the_day_slower_and_a_clean_one_faster():
    assert day(("clean", 120)).factors.best < 0.8
    assert day(("wet", 240)).factors.best > 1.2


@pytest.mark.parametrize(("result", "at_s"), [("damp", 100), ("wet", 0), ("wet", float("nan"))])
def test_a_report_that_cannot_be_is_refused(result, at_s):
    with pytest.raises(ReckonError, match="wet, clean or grabbing"):
        day((result, at_s))
