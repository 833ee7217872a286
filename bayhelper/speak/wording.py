"""The grammar of our own sentences: how names, numbers, times and lists are put into words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from bayhelper.speak.durations import counted, duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.speak.warnings import AGENTS, subject_words
from bayhelper.terms.saying import Saying

INSIST = "or say do it anyway"
"""How a warning is overruled."""
LONGEST_LIST = 3
"""More names than this are counted, not listed: a list must stay within a breath (chosen, no
source)."""

Kind = TypeVar("Kind", bound=Saying)


@dataclass(frozen=True)
class Sentence:
    """The words of one kind of saying."""

    kind: type[Saying]
    """Which sayings."""
    words: Callable[[Any, Names], str]
    """Their words; takes a saying of that kind."""
    why: Callable[[Any], str]
    """Why it is so, in one clause, which the teaching level adds; '' where there is no reason."""


def says(
    kind: type[Kind],
    words: str | Callable[[Kind, Names], str],
    why: str | Callable[[Kind], str] = "",
) -> Sentence:
    """The sentence of a kind of saying: a text that never changes, or what makes it.

    The types of both belong together, so that a renamed field is found before anything is said.
    """
    fixed_words, fixed_why = words, why
    return Sentence(
        kind,
        words if callable(words) else lambda saying, names: str(fixed_words),
        why if callable(why) else lambda saying: str(fixed_why),
    )


def sentence(text: str) -> str:
    """The text with a capital and a full stop."""
    return text[:1].upper() + text[1:] + "."


def told(*texts: str) -> str:
    """Each text as a sentence of its own; empty ones are left out."""
    return " ".join(sentence(text) for text in texts if text)


def part_name(names: Names, panel: str, half: str = "") -> str:
    """The panel, and the half of it; '' for no panel."""
    if not panel:
        return ""
    return subject_words(f"{panel}/{half}" if half else panel, names)


def listed(items: Sequence[str], joint: str = "and") -> str:
    """'a', 'a and b', 'a, b and c', 'a, b and four more'."""
    shown = list(items)
    if len(shown) > LONGEST_LIST:
        rest = len(shown) - LONGEST_LIST + 1
        shown = [*shown[: LONGEST_LIST - 1], f"{number_words(rest)} more"]
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} {joint} {shown[-1]}"


def parts_listed(names: Names, parts: Sequence[str]) -> str:
    """The parts of these keys, by name."""
    return listed([subject_words(part, names) for part in parts])


def stage_name(stage: str) -> str:
    """The stage as it is spoken."""
    return stage.replace("_", " ")


def agent_name(agent: str) -> str:
    """The remover as it is spoken."""
    return AGENTS.get(agent, agent.replace("_", " "))


def decimal_words(value: float) -> str:
    """A number to one decimal in words: 'twenty one point five', 'minus three'."""
    tenths = round(abs(value) * 10)
    whole, tenth = divmod(tenths, 10)
    words = number_words(whole) + (f" point {number_words(tenth)}" if tenth else "")
    return f"minus {words}" if value < 0 and tenths else words


def microns(film_um: float) -> str:
    """A film reading, to one micrometre or, if it was given finer, to a tenth."""
    return f"{decimal_words(film_um)} microns"


def in_time(seconds: float) -> str:
    """'in five' for whole minutes, 'in ninety seconds', 'now' for what is due."""
    if seconds < 5:
        return "now"
    minutes = round(seconds / 60)
    if 2 <= minutes < 60 and abs(seconds - 60 * minutes) < 8:
        return f"in {number_words(minutes)}"
    return f"in {duration_words(seconds)}"


def counted_bare(count: int, how: str = "bare") -> str:
    """'one seam bare', 'three seams unwiped'."""
    return f"{counted(count, 'seam')} {how}"
