"""A drawing of the setting window over humidity and temperature, as SVG."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from math import exp, log

from bayhelper.reckon.cure import Air, rate, spread
from bayhelper.terms.errors import ReckonError
from bayhelper.terms.product import Product, SettingTimes

RH = (20, 100)
"""Humidity across the chart, percent: drier is rare in a bay (chosen)."""
TEMP_C = (5, 45)
"""Temperature up the chart, degrees Celsius: where people work, as in reckon.air."""
STEP_RH, STEP_C = 2, 1
"""Size of a shaded cell, percent and kelvin (chosen by eye)."""
LEFT, TOP, WIDTH, HEIGHT = 70, 78, 600, 400
"""Margins and size of the shaded field, pixels (chosen by eye)."""
BANDS_S = (60, 90, 120, 180, 240, 300, 420, 600, 900)
"""Seconds at which one shade ends and the next begins: about equal steps of ratio (chosen)."""
SHADES = "#7f2704 #a63603 #d94801 #f16913 #fd8d3c #fdae6b #fdd0a2 #c6dbef #9ecae1 #6baed6".split()
"""Quick (dark orange) to slow (blue); one more than bands."""
RESULTS = {"wet": "#08519c", "clean": "#006d2c", "grabbing": "#000000"}
"""Colours of trial wipes, told apart on every shade (chosen by eye)."""


@dataclass(frozen=True)
class Wipe:
    """A trial wipe that was reported, in the air it was made in."""

    air: Air
    """The air."""
    result: str
    """'wet', 'clean' or 'grabbing'."""
    covered_for_s: float
    """Seconds after covered."""


def chart(product: Product, today: Air, wipes: Iterable[Wipe] = ()) -> str:
    """The best time as shades with its figures, the sheet's range, today's point and the wipes.

    Raises ReckonError for a product without a setting table.
    """
    setting = product.setting
    if setting is None:
        raise ReckonError(f"'{product.id}' does not set. Choose a coating.")
    height = TOP + HEIGHT + 92
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {LEFT + WIDTH + 150} {height}" '
        'font-family="sans-serif" font-size="14">',
        f'<rect width="{LEFT + WIDTH + 150}" height="{height}" fill="white"/>',
        f'<text x="{LEFT}" y="28" font-size="18">{escape(product.name)}: best time to wipe</text>',
        f'<text x="{LEFT}" y="50">{escape(_today(product, setting, today))}</text>',
        *_cells(setting, today),
        *_range(product),
        *_axes(),
        *_legend(),
        *(mark for wipe in wipes for mark in _wipe(wipe)),
        *_point(today),
        f'<text x="{LEFT}" y="{height - 12}" font-size="12">The data sheet and the trial wipe have '
        "the last word.</text>",
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def clock(seconds: float) -> str:
    """Minutes and seconds, such as '2:31'."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def _today(product: Product, setting: SettingTimes, air: Air) -> str:
    panel = "panel as the air" if air.panel_c is None else f"panel {air.panel_c:g} °C"
    where = f"{air.air_c:g} °C, {air.rh_percent:g} %, {panel}"
    best_s = setting.best_s / rate(setting, air)
    share = 1 - exp(-spread(product, air))
    early = f", may open {100 * share:.0f} % sooner than reckoned" if share >= 0.005 else ""
    return f"Today {where}: {clock(best_s)} after covered{early}"


def _x(rh_percent: float) -> float:
    return LEFT + WIDTH * (rh_percent - RH[0]) / (RH[1] - RH[0])


def _y(temp_c: float) -> float:
    return TOP + HEIGHT * (TEMP_C[1] - temp_c) / (TEMP_C[1] - TEMP_C[0])


def _inside(air: Air) -> tuple[float, float]:
    rh_percent = min(max(air.rh_percent, RH[0]), RH[1])
    return _x(rh_percent), _y(min(max(air.air_c, TEMP_C[0]), TEMP_C[1]))


def _band(best_s: float) -> int:
    return sum(best_s >= edge for edge in BANDS_S)


def _cells(setting: SettingTimes, today: Air) -> Iterator[str]:
    """Shades of the best time; a panel that differs from the air today differs as much there."""
    above_c = today.surface_c - today.air_c
    wide, high = WIDTH * STEP_RH / (RH[1] - RH[0]), HEIGHT * STEP_C / (TEMP_C[1] - TEMP_C[0])
    for temp_c in range(TEMP_C[0], TEMP_C[1], STEP_C):
        for rh in range(RH[0], RH[1], STEP_RH):
            middle = temp_c + STEP_C / 2
            air = Air(middle, rh + STEP_RH / 2, middle + above_c)
            shade = SHADES[_band(setting.best_s / rate(setting, air))]
            yield (
                f'<rect x="{_x(rh):.1f}" y="{_y(temp_c + STEP_C):.1f}" width="{wide + 0.5:.1f}" '
                f'height="{high + 0.5:.1f}" fill="{shade}"/>'
            )


def _range(product: Product) -> Iterator[str]:
    low_c, high_c = product.air_c or TEMP_C
    low_rh, high_rh = product.air_rh_percent or RH
    yield (
        f'<rect x="{_x(low_rh):.1f}" y="{_y(high_c):.1f}" width="{_x(high_rh) - _x(low_rh):.1f}" '
        f'height="{_y(low_c) - _y(high_c):.1f}" fill="none" stroke="black" stroke-width="2" '
        'stroke-dasharray="7 4"/>'
    )


def _axes() -> Iterator[str]:
    bottom = TOP + HEIGHT
    for rh in range(RH[0], RH[1] + 1, 10):
        yield f'<text x="{_x(rh):.1f}" y="{bottom + 20}" text-anchor="middle">{rh}</text>'
    for temp_c in range(TEMP_C[0], TEMP_C[1] + 1, 5):
        yield f'<text x="{LEFT - 8}" y="{_y(temp_c) + 5:.1f}" text-anchor="end">{temp_c}</text>'
    middle_x, middle_y = LEFT + WIDTH / 2, TOP + HEIGHT / 2
    yield f'<text x="{middle_x}" y="{bottom + 42}" text-anchor="middle">humidity, %</text>'
    yield (
        f'<text x="24" y="{middle_y}" text-anchor="middle" '
        f'transform="rotate(-90 24 {middle_y})">air, °C</text>'
    )


def _legend() -> Iterator[str]:
    x, edges = LEFT + WIDTH + 18, ["", *(clock(edge) for edge in BANDS_S), ""]
    yield f'<text x="{x}" y="{TOP - 8}" font-size="12">best, min:s</text>'
    for number, shade in enumerate(SHADES):
        y = TOP + number * 24
        low, high = edges[number], edges[number + 1]
        words = f"{low} to {high}" if low and high else f"under {high}" if high else f"over {low}"
        yield f'<rect x="{x}" y="{y}" width="20" height="20" fill="{shade}"/>'
        yield f'<text x="{x + 26}" y="{y + 15}" font-size="12">{words}</text>'
    marks = [*RESULTS.items(), ("today", "#ffffff")]
    for number, (words, colour) in enumerate(marks):
        y = TOP + 262 + number * 22
        yield f'<circle cx="{x + 10}" cy="{y}" r="6" fill="{colour}" stroke="black"/>'
        yield f'<text x="{x + 26}" y="{y + 4}" font-size="12">{words}</text>'
    yield (
        f'<line x1="{x}" y1="{TOP + 356}" x2="{x + 20}" y2="{TOP + 356}" stroke="black" '
        'stroke-width="2" stroke-dasharray="7 4"/>'
    )
    yield f'<text x="{x + 26}" y="{TOP + 360}" font-size="12">sheet\'s range</text>'


def _wipe(wipe: Wipe) -> Iterator[str]:
    """Wipes of one air stand side by side: the later, the farther right."""
    x, y = _inside(wipe.air)
    x += 14 + 16 * log(1 + wipe.covered_for_s / 60)
    yield (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{RESULTS.get(wipe.result, "grey")}" '
        f'stroke="white"><title>{escape(wipe.result)} {clock(wipe.covered_for_s)}</title></circle>'
    )


def _point(today: Air) -> Iterator[str]:
    x, y = _inside(today)
    yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8" fill="white" stroke="black" stroke-width="3"/>'
