"""SettingTimes of a moisture-cured film in the air it really had: rate, window, accumulated cure.

The rate relative to the sheet's reference air is (c / c_ref)^p times an Arrhenius factor of the
panel's temperature, c being the water in the air (g/m3). A window is exact at the reference air,
and wetter or warmer is never slower. The farther the air is from the reference, the sooner it
opens, since the exponent and the activation energy are known no better than the sheet's
uncertainty; beyond the sheet's application range that goes twice as fast. It never closes later for
what is not known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import exp, inf, log

from bayhelper.reckon.air import water_g_m3
from bayhelper.terms.errors import ReckonError
from bayhelper.terms.product import Product, SettingTimes

GAS_J_MOL_K = 8.314462618
"""Molar gas constant, J/(mol K): exact since the SI of 2019 (from memory)."""
ZERO_C_K = 273.15
"""0 degrees Celsius in kelvin: exact by the definition of the scale."""


@dataclass(frozen=True)
class Air:
    """The air of the bay, and the surface where it is known."""

    air_c: float
    """Air temperature, degrees Celsius."""
    rh_percent: float
    """Relative humidity, above 0 and at most 100."""
    panel_c: float | None = None
    """Surface temperature of the panel; None when unknown, and then the air's is taken."""

    @property
    def surface_c(self) -> float:
        """The temperature at which the film sets."""
        return self.air_c if self.panel_c is None else self.panel_c

    @property
    def water_g_m3(self) -> float:
        """Water in the air, g/m3."""
        return water_g_m3(self.air_c, self.rh_percent)


@dataclass(frozen=True)
class Rates:
    """How fast cure runs; 1 at the reference air."""

    earliest: float
    """The fastest that it may be: towards the earliest time."""
    best: float
    """What the model gives: towards the best and the latest time."""


@dataclass(frozen=True)
class Factors:
    """What today's trials say: each of the sheet's figures is multiplied by its factor."""

    earliest: float = 1.0
    """For the earliest time."""
    best: float = 1.0
    """For the best time."""
    latest: float = 1.0
    """For the latest time."""
    calibrated: bool = False
    """Whether a trial stands behind them: then the earliest time is not widened."""


@dataclass(frozen=True)
class AirSpan:
    """One air, and since when."""

    since_utc: datetime
    """From then on, until the next span."""
    air: Air
    """The air."""


@dataclass(frozen=True)
class DueTimes:
    """Instants of one panel."""

    earliest_utc: datetime
    """Not before; counted from the last stroke."""
    best_utc: datetime
    """Aim for; counted from the last stroke."""
    latest_utc: datetime
    """Not later; counted from the first stroke."""


def log_rate(setting: SettingTimes, air: Air) -> float:
    """Natural logarithm of the rate of cure relative to the reference air; 0 there.

    Raises ReckonError for a humidity that is not above 0 and at most 100.
    """
    reference = water_g_m3(setting.reference_c, setting.reference_rh_percent)
    wetter = setting.water_exponent * log(air.water_g_m3 / reference)
    inverse_k = 1 / (setting.reference_c + ZERO_C_K) - 1 / (air.surface_c + ZERO_C_K)
    return wetter + setting.activation_j_mol / GAS_J_MOL_K * inverse_k


def rate(setting: SettingTimes, air: Air) -> float:
    """Rate of cure relative to the reference air; 1 there. Raises as `log_rate`."""
    return exp(log_rate(setting, air))


def outside(product: Product, air: Air) -> tuple[str, ...]:
    """Which of 'air too cold', 'air too warm', 'air too dry', 'air too humid', 'panel too cold'
    and 'panel too hot' hold by the sheet's application range; empty inside it.
    """
    found = []
    ranges = (
        (air.air_c, product.air_c, "air too cold", "air too warm"),
        (air.rh_percent, product.air_rh_percent, "air too dry", "air too humid"),
        (air.panel_c, product.air_c, "panel too cold", "panel too hot"),
    )
    for value, span, low, high in ranges:
        if value is None or span is None:
            continue
        if value < span[0]:
            found.append(low)
        elif value > span[1]:
            found.append(high)
    return tuple(found)


def spread(product: Product, air: Air) -> float:
    """How unsure the rate is there (natural logarithm); 0 at the reference air."""
    setting = _setting(product)
    here = log_rate(setting, air)
    beyond = here - log_rate(setting, _within(product, air))
    return setting.uncertainty * (abs(here) + abs(beyond))


def rates(product: Product, air: Air, *, calibrated: bool = False) -> Rates:
    """Both rates in one air. Raises ReckonError for a product without a setting table."""
    here = log_rate(_setting(product), air)
    wide = 0.0 if calibrated else spread(product, air)
    return Rates(exp(here + wide), exp(here))


def cure_s(
    setting: SettingTimes, spans: Sequence[AirSpan], since: datetime, until: datetime
) -> float:
    """Cure between two instants, in seconds of the reference air.

    `spans` rise in time; before the first of them its air is taken to have been there already.
    """
    total = 0.0
    for start, end, air in _pieces(spans, since, until):
        total += rate(setting, air) * (end - start).total_seconds()
    return total


def due(
    product: Product,
    spans: Sequence[AirSpan],
    started_utc: datetime,
    covered_utc: datetime,
    factors: Factors | None = None,
) -> DueTimes:
    """Instants at which a panel that saw these airs is due; cure is added up over all of them.

    `spans` rise in time; before the first of them its air is taken to have been there already,
    and the last one goes on. Raises ReckonError when there is no span or no setting table.
    """
    setting, factors = _setting(product), factors or Factors()
    found = [rates(product, span.air, calibrated=factors.calibrated) for span in spans]
    return DueTimes(
        earliest_utc=_reached(
            spans, [r.earliest for r in found], covered_utc, setting.earliest_s * factors.earliest
        ),
        best_utc=_reached(
            spans, [r.best for r in found], covered_utc, setting.best_s * factors.best
        ),
        latest_utc=_reached(
            spans, [r.best for r in found], started_utc, setting.latest_s * factors.latest
        ),
    )


def _setting(product: Product) -> SettingTimes:
    if product.setting is None:
        raise ReckonError(
            f"The sheet of '{product.id}' has no [setting] table, so it has no setting window. "
            "Choose a coating."
        )
    return product.setting


def _within(product: Product, air: Air) -> Air:
    """The nearest air and panel inside the application range."""
    panel_c = None if air.panel_c is None else _clamped(air.panel_c, product.air_c)
    return Air(
        _clamped(air.air_c, product.air_c),
        _clamped(air.rh_percent, product.air_rh_percent),
        panel_c,
    )


def _clamped(value: float, span: tuple[float, float] | None) -> float:
    return value if span is None else min(max(value, span[0]), span[1])


def _pieces(
    spans: Sequence[AirSpan], since: datetime, until: datetime
) -> list[tuple[datetime, datetime, Air]]:
    if not spans:
        raise ReckonError("Cure needs the air of at least one reading, but there is none.")
    pieces = []
    for number, span in enumerate(spans):
        start = since if number == 0 else max(since, span.since_utc)
        end = min(until, spans[number + 1].since_utc) if number + 1 < len(spans) else until
        if start < end:
            pieces.append((start, end, span.air))
    return pieces


def _reached(
    spans: Sequence[AirSpan], speeds: Sequence[float], since: datetime, wanted_s: float
) -> datetime:
    """When the cure since an instant has come to so many seconds of reference air."""
    if not spans:
        raise ReckonError("A window needs the air of at least one reading, but there is none.")
    now, left_s = since, wanted_s
    for number, speed in enumerate(speeds):
        last = number + 1 == len(spans)
        room_s = inf if last else max(0.0, (spans[number + 1].since_utc - now).total_seconds())
        if left_s <= speed * room_s:
            return now + timedelta(seconds=left_s / speed)
        left_s -= speed * room_s
        now += timedelta(seconds=room_s)
    return now
