"""Setting windows and lay-down times."""

from __future__ import annotations

from collections.abc import Iterable
from statistics import median

from bayhelper.terms.events import Window
from bayhelper.terms.product import Product

TRIAL_SHARE = 0.4
"""First trial wipe at this share of the nominal: 2 of 5 minutes (common practice, no source)."""
TRIAL_STEP_SHARE = 0.2
"""After a wet trial, the next this share later: 1 of 5 minutes (common practice, no source)."""
PRIOR_WEIGHT = 2
"""How many measured lay-downs the plan's usual figure counts for (chosen)."""
CLOSING_S = 60.0
"""A panel is closing this long before its latest instant, or less when the window is short
(chosen: time to put down what is in hand)."""


def nominal_window(product: Product) -> Window | None:
    """The sheet's own window at its reference air; None for a product that does not set."""
    setting = product.setting
    if setting is None:
        return None
    return Window(
        earliest_s=setting.earliest_s,
        best_s=setting.best_s,
        latest_s=setting.latest_s,
        product=product.id,
        basis=f"sheet figure at {setting.reference_c:g} degrees, "
        f"{setting.reference_rh_percent:g} percent",
    )


def lay_down_s(area_m2: float, s_per_m2: float) -> float:
    """Seconds that laying down an area takes at a rate of seconds per square metre."""
    return area_m2 * s_per_m2


def usual_lay_down_s(
    area_m2: float, plan_s_per_m2: float, measured: Iterable[tuple[float, float]]
) -> float:
    """Seconds that a lay-down of this area usually takes this person.

    `measured` holds (square metres, seconds) of lay-downs whose both ends were said. The rate is
    the median of the measured ones and of the plan's figure, which counts PRIOR_WEIGHT times: one
    lay-down that was interrupted moves it little.
    """
    rates = [seconds / m2 for m2, seconds in measured if m2 > 0 and seconds > 0]
    return lay_down_s(area_m2, median(rates + [plan_s_per_m2] * PRIOR_WEIGHT))


def first_trial_s(window: Window) -> float:
    """When a first trial wipe may be made, seconds after covered."""
    return TRIAL_SHARE * window.best_s


def next_trial_s(window: Window, wet_at_s: float) -> float:
    """When to try again after a wet trial, seconds after covered."""
    return wet_at_s + TRIAL_STEP_SHARE * window.best_s


def closing_margin_s(window: Window) -> float:
    """How long before the latest instant the panel counts as closing, seconds.

    A third of the time between best and latest, at least a tenth of the latest, at most CLOSING_S.
    """
    return min(CLOSING_S, max((window.latest_s - window.best_s) / 3, window.latest_s / 10))
