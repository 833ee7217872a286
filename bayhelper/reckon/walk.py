"""The way round a car that passes some places, from where somebody stands."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, tau

from bayhelper.terms.body import Body

Place = tuple[float, float]
"""Metres from the nose, and metres left of the middle, as drawn from above."""

SAME_RAD = 1e-9
"""Nearer than this is where one stands: rounding of the arithmetic, not a distance (chosen)."""


def place_of(body: Body, panel_ids: Sequence[str]) -> Place | None:
    """The middle between panels; None when one of them is not drawn."""
    panels = [body.panel(panel_id) for panel_id in panel_ids]
    boxes = [panel.plan_m for panel in panels if panel is not None and panel.plan_m is not None]
    if not boxes or len(boxes) < len(panels):
        return None
    along = sum(x0 + x1 for x0, _, x1, _ in boxes) / (2 * len(boxes))
    across = sum(y0 + y1 for _, y0, _, y1 in boxes) / (2 * len(boxes))
    return along, across


def middle_of(body: Body) -> Place:
    """The middle of the drawing, round which one walks; the nose where nothing is drawn."""
    boxes = [panel.plan_m for panel in body.panels if panel.plan_m is not None]
    if not boxes:
        return 0.0, 0.0
    return (min(box[0] for box in boxes) + max(box[2] for box in boxes)) / 2, 0.0


def walked(places: Sequence[Place], start: Place, middle: Place) -> tuple[int, ...]:
    """Numbers of the places in the order in which one passes them on the shortest way.

    That goes round the car one way, or some steps one way, back, and round the other. Of two that
    are as short, the one that begins by the right side of the nose.
    """
    here = _angle(start, middle)
    turns = [(_angle(place, middle) - here) % tau for place in places]
    turns = [0.0 if tau - turn < SAME_RAD else turn for turn in turns]
    ahead = sorted(range(len(places)), key=lambda number: (turns[number], number))
    ways = []
    for count in range(len(places), -1, -1):
        on, back = ahead[:count], ahead[count:][::-1]
        on_rad = turns[on[-1]] if on else 0.0
        back_rad = tau - turns[back[-1]] if back else 0.0
        length_rad = on_rad + back_rad + min(on_rad, back_rad)
        ways.append((round(length_rad, 9), [*on, *back] if on_rad <= back_rad else [*back, *on]))
    return tuple(min(ways, key=lambda way: way[0])[1])


def _angle(place: Place, middle: Place) -> float:
    """From the nose, rising towards the right side of the car."""
    return atan2(-(place[1] - middle[1]), middle[0] - place[0]) % tau
