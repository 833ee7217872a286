"""A car body from above, its sides folded out flat, as an SVG drawing."""

from __future__ import annotations

from collections.abc import Mapping
from xml.sax.saxutils import escape, quoteattr

from bayhelper.terms.body import Body, Panel

PX_PER_M = 160
"""Scale of the drawing: a car of five metres fits across a screen (chosen by eye)."""
MARGIN_M = 0.15
"""Room left round the car, metres (chosen by eye)."""
LEAST_TEXT_M = 0.3
"""Narrower panels have their name in a tooltip only (chosen by eye)."""
STYLE = """\
text { font: 11px sans-serif; text-anchor: middle; dominant-baseline: middle; fill: #1c2a33; }
rect { stroke: #1c2a33; stroke-width: 1.5; }
.panel { fill: #f4efe4; }
.glass { fill: #cfe3ea; }
.hidden { fill: #e2d7c3; stroke-dasharray: 4 3; }
.trim { fill: #d8d8d8; }
.seam { stroke: #b4552d; stroke-width: 3; stroke-linecap: round; }
.heading { font-size: 14px; text-anchor: start; }
"""
"""Colours and strokes by kind of surface (chosen by eye)."""


def plan_view(body: Body, names: Mapping[str, str]) -> str:
    """SVG text: each panel that has a place, its name, and a stroke across each seam.

    `names` maps panel ids to what is written. The nose points left, so that the car's left side is
    below. Panels without a place are listed beneath the drawing.
    """
    drawn = {p.id: p.plan_m for p in body.panels if p.plan_m is not None}
    length_m = max((box[2] for box in drawn.values()), default=1.0)
    half_m = max((max(-box[1], box[3]) for box in drawn.values()), default=1.0)
    width, height = _px(length_m + 2 * MARGIN_M), _px(2 * half_m + 2 * MARGIN_M)
    left_out = [names[p.id] for p in body.panels if p.plan_m is None]
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height + 50}" '
        f'viewBox="0 -30 {width} {height + 50}">',
        f"<title>{escape(body.name)}</title>",
        f"<style>{STYLE}</style>",
        f'<text class="heading" x="10" y="-12">{escape(body.name)}, seen from above, sides '
        "folded out; nose to the left</text>",
        *(line for p in body.panels for line in _panel(p, names[p.id], half_m)),
        *_seams(body, drawn, half_m),
    ]
    if left_out:
        text = "Not drawn: " + ", ".join(left_out)
        lines.append(f'<text class="heading" x="10" y="{height + 8}">{escape(text)}</text>')
    return "\n".join([*lines, "</svg>"]) + "\n"


def _panel(panel: Panel, name: str, half_m: float) -> list[str]:
    if panel.plan_m is None:
        return []
    x0, y0, x1, y1 = panel.plan_m
    wide, high = x1 - x0, y1 - y0
    middle_x, middle_y = _x((x0 + x1) / 2), _y((y0 + y1) / 2, half_m)
    lines = [
        f"<g><title>{escape(name)}</title>",
        f'<rect class={quoteattr(panel.kind)} x="{_x(x0)}" y="{_y(y0, half_m)}" '
        f'width="{_px(wide)}" height="{_px(high)}" rx="6"/>',
    ]
    if max(wide, high) >= LEAST_TEXT_M:
        turn = f' transform="rotate(-90 {middle_x} {middle_y})"' if high > 1.5 * wide else ""
        lines.append(f'<text x="{middle_x}" y="{middle_y}"{turn}>{escape(name)}</text>')
    return [*lines, "</g>"]


def _seams(
    body: Body, drawn: Mapping[str, tuple[float, float, float, float]], half_m: float
) -> list[str]:
    lines = []
    for seam in body.seams:
        if seam.a in drawn and seam.b in drawn:
            (xa, ya), (xb, yb) = _nearest(drawn[seam.a], drawn[seam.b])
            lines.append(
                f'<line class="seam" x1="{_x(xa)}" y1="{_y(ya, half_m)}" '
                f'x2="{_x(xb)}" y2="{_y(yb, half_m)}"><title>{escape(seam.id)}</title></line>'
            )
    return lines


def _nearest(
    a: tuple[float, float, float, float], b: tuple[float, float, float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The points of two boxes that lie nearest to one another."""
    xa, xb = _nearest_on_axis((a[0], a[2]), (b[0], b[2]))
    ya, yb = _nearest_on_axis((a[1], a[3]), (b[1], b[3]))
    return (xa, ya), (xb, yb)


def _nearest_on_axis(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    low, high = max(a[0], b[0]), min(a[1], b[1])
    if low <= high:
        return (low + high) / 2, (low + high) / 2
    return (a[1], b[0]) if a[1] < b[0] else (a[0], b[1])


def _px(metres: float) -> int:
    return round(metres * PX_PER_M)


def _x(metres: float) -> int:
    return _px(metres + MARGIN_M)


def _y(metres: float, half_m: float) -> int:
    return _px(metres + half_m + MARGIN_M)
