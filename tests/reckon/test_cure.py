"""The setting window over air and surface. Common practice, no source, unless named."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayhelper.reckon.cure import (
    Air,
    AirSpan,
    DueTimes,
    Factors,
    cure_s,
    due,
    log_rate,
    outside,
    rate,
    rates,
    spread,
)
from bayhelper.sheets.products import load_product
from bayhelper.terms.errors import ReckonError
from tests.known import known

GLOSS = load_product("demo_gloss")
SETTING = known(GLOSS.setting)
NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
AIRS = st.builds(Air, st.floats(5, 45), st.floats(10, 100), st.one_of(st.none(), st.floats(5, 60)))


def window(air: Air, factors: Factors | None = None) -> tuple[float, float, float]:
    found = due(GLOSS, [AirSpan(NOON, air)], NOON, NOON, factors)
    instants = (found.earliest_utc, found.best_utc, found.latest_utc)
    return tuple((at_utc - NOON).total_seconds() for at_utc in instants)  # type: ignore[return-value]


def test_exact_at_the_sheets_reference_air():
    assert rate(SETTING, Air(21, 50)) == 1.0
    assert rate(SETTING, Air(21, 50, panel_c=21)) == 1.0
    assert window(Air(21, 50)) == (180, 300, 480)


@pytest.mark.parametrize(
    ("air_c", "rh_percent", "wanted_s"), [(25, 70, 172), (26, 75, 151), (27, 80, 133)]
)
def test_humid_warm_air_gives_the_worked_figures(air_c, rh_percent, wanted_s):
    """Worked apart from this code, from p = 0.6 and 40 kJ/mol with psychrolib's water content."""
    assert window(Air(air_c, rh_percent))[1] == pytest.approx(wanted_s, abs=1)


@pytest.mark.parametrize("air_c", [25, 26, 27])
@pytest.mark.parametrize("rh_percent", [70, 75, 80])
def test_two_to_three_minutes_in_a_humid_shop_lie_in_the_window(air_c, rh_percent):
    earliest_s, best_s, latest_s = window(Air(air_c, rh_percent))
    assert earliest_s <= 120 and latest_s >= 180
    assert 120 <= best_s <= 180


def test_five_minutes_on_a_fair_day_lie_in_the_window():
    earliest_s, best_s, latest_s = window(Air(21, 50))
    assert earliest_s < 300 < latest_s and best_s == 300


@given(AIRS, st.floats(0, 5), st.floats(0, 20))
def test_wetter_or_warmer_is_never_slower(air, warmer_k, wetter):
    panel_c = None if air.panel_c is None else air.panel_c + warmer_k
    more = Air(air.air_c + warmer_k, min(100.0, air.rh_percent + wetter), panel_c)
    assert log_rate(SETTING, more) >= log_rate(SETTING, air) - 1e-12
    for slow, fast in zip(window(air), window(more), strict=True):
        assert fast <= slow + 1e-3


@given(AIRS)
def test_the_window_widens_away_from_the_reference(air):
    earliest_s, best_s, latest_s = window(air)
    assert earliest_s <= 0.6 * best_s * (1 + 1e-4) + 1e-4
    assert latest_s >= 1.6 * best_s * (1 - 1e-4) - 1e-4
    assert spread(GLOSS, air) >= 0


def test_outside_the_sheets_range_is_marked_and_wider():
    assert outside(GLOSS, Air(21, 50)) == ()
    assert outside(GLOSS, Air(35, 90)) == ("air too warm", "air too humid")
    assert outside(GLOSS, Air(8, 20)) == ("air too cold", "air too dry")
    assert outside(GLOSS, Air(21, 50, panel_c=45)) == ("panel too hot",)
    assert outside(GLOSS, Air(21, 50, panel_c=6)) == ("panel too cold",)
    inside, beyond = Air(30, 80), Air(36, 80)
    grown = spread(GLOSS, beyond) - spread(GLOSS, inside)
    assert grown > 1.9 * SETTING.uncertainty * (
        log_rate(SETTING, beyond) - log_rate(SETTING, inside)
    )


@given(AIRS, st.integers(0, 600), st.lists(st.integers(1, 400), max_size=5))
def test_accumulated_cure_is_that_of_constant_air(air, taken_s, gaps):
    """However often the same air is read."""
    since, spans = NOON - timedelta(seconds=100), []
    for gap in [0, *gaps]:
        since += timedelta(seconds=gap)
        spans.append(AirSpan(since, air))
    started, covered = NOON, NOON + timedelta(seconds=taken_s)
    once, often = (due(GLOSS, found, started, covered) for found in ([AirSpan(NOON, air)], spans))
    for one, other in zip(vars(once).values(), vars(often).values(), strict=True):
        assert abs((one - other).total_seconds()) < 0.001
    until = covered + timedelta(seconds=500)
    wanted = rate(SETTING, air) * 500
    assert cure_s(SETTING, spans, covered, until) == pytest.approx(wanted, rel=1e-6)


def test_a_panel_that_saw_two_airs_adds_up_both():
    slow, fast = Air(21, 50), Air(26, 75)
    spans = [AirSpan(NOON, slow), AirSpan(NOON + timedelta(seconds=150), fast)]
    found = due(GLOSS, spans, NOON, NOON)
    half_s = 150 / rate(SETTING, fast)
    assert (found.best_utc - NOON).total_seconds() == pytest.approx(150 + half_s, abs=0.001)
    assert cure_s(SETTING, spans, NOON, found.best_utc) == pytest.approx(300, abs=0.001)


def test_earliest_counts_from_the_last_stroke_and_latest_from_the_first():
    covered = NOON + timedelta(seconds=120)
    found = due(GLOSS, [AirSpan(NOON, Air(21, 50))], NOON, covered)
    assert found == DueTimes(
        covered + timedelta(seconds=180),
        covered + timedelta(seconds=300),
        NOON + timedelta(seconds=480),
    )


def test_a_calibrated_earliest_time_is_not_widened():
    assert window(Air(26, 75), Factors(calibrated=True))[0] > window(Air(26, 75))[0]
    assert rates(GLOSS, Air(26, 75), calibrated=True).earliest == rate(SETTING, Air(26, 75))


@given(AIRS)
def test_what_is_not_known_opens_a_panel_sooner_but_never_closes_it_later(air):
    """A late edge that is put off for being unsure would be a leave to wait (common practice)."""
    earliest_s, best_s, latest_s = window(air)
    speed = rate(SETTING, air)
    assert earliest_s <= SETTING.earliest_s / speed + 1e-3
    assert best_s == pytest.approx(SETTING.best_s / speed, abs=1e-3)
    assert latest_s == pytest.approx(SETTING.latest_s / speed, abs=1e-3)


def test_what_does_not_set_has_no_window():
    with pytest.raises(ReckonError, match="setting"):
        rates(load_product("demo_foam"), Air(21, 50))
    with pytest.raises(ReckonError, match="reading"):
        due(GLOSS, [], NOON, NOON)
