"""A chart of lines as SVG, by hand: right commands and wrong acts against noise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

STEPS = ("clean", "20", "15", "10", "5", "0")
"""Levels of noise along the picture, from quiet to loud."""
COLOURS = ("#1b6ca8", "#c8553d", "#4f772d", "#6d597a", "#b8860b", "#222222", "#3aa6a6")
"""One a front end, in their order: chosen to be told apart."""
LEFT, TOP, WIDTH, HEIGHT = 60, 40, 480, 280
"""Place and size of the drawing, pixels: chosen."""


@dataclass(frozen=True)
class Line:
    """One front end."""

    name: str
    """For the key."""
    points: tuple[tuple[str, float, float], ...]
    """Condition (of STEPS), percent right, percent wrong."""


def chart(lines: Sequence[Line]) -> str:
    """SVG text; whole lines are right commands, dashed ones wrong acts."""
    body = "\n".join(
        [*_frame(), *(part for n, line in enumerate(lines) for part in _line(n, line))]
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 760 380" '
        'font-family="sans-serif" font-size="13">\n'
        '<rect width="760" height="380" fill="#ffffff"/>\n' + body + "\n</svg>\n"
    )


def _frame() -> Iterator[str]:
    yield f'<text x="{LEFT}" y="22" font-size="15">Commands, percent, against noise</text>'
    for percent in range(0, 101, 20):
        y = _y(percent)
        yield f'<line x1="{LEFT}" x2="{LEFT + WIDTH}" y1="{y}" y2="{y}" stroke="#dddddd"/>'
        yield f'<text x="{LEFT - 8}" y="{y + 4}" text-anchor="end">{percent}</text>'
    for name in STEPS:
        label = name if name == "clean" else f"{name} dB"
        yield f'<text x="{_x(name)}" y="{TOP + HEIGHT + 22}" text-anchor="middle">{label}</text>'


def _line(number: int, line: Line) -> Iterator[str]:
    colour = COLOURS[number % len(COLOURS)]
    for part, dash in ((1, ""), (2, ' stroke-dasharray="5 4"')):
        way = " ".join(f"{_x(str(point[0]))},{_y(float(point[part]))}" for point in line.points)
        yield f'<polyline points="{way}" fill="none" stroke="{colour}" stroke-width="2"{dash}/>'
    for name, right, wrong in line.points:
        for value in (right, wrong):
            yield f'<circle cx="{_x(name)}" cy="{_y(value)}" r="3" fill="{colour}"/>'
    y = TOP + 20 + 44 * number
    x = LEFT + WIDTH + 20
    yield f'<text x="{x}" y="{y}" fill="{colour}">{escape(line.name)}: right</text>'
    yield f'<text x="{x}" y="{y + 18}" fill="{colour}">(dashed: wrong acts)</text>'


def _x(name: str) -> float:
    return LEFT + 20 + STEPS.index(name) * (WIDTH - 40) / (len(STEPS) - 1)


def _y(percent: float) -> float:
    return TOP + HEIGHT * (1 - percent / 100)
