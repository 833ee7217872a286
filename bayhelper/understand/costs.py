"""What it costs to take one heard word for another, or to pass one over.

A number, or a word turned into its opposite, is never bent: where a figure could be changed by
tolerance, nothing is understood and the person is asked.
"""

from __future__ import annotations

from difflib import SequenceMatcher
from functools import lru_cache

from bayhelper.understand.numbers import NUMBER_WORDS

SMALL_WORDS = frozenset("a an the of on to it is and in me please degrees".split())
"""Words that people add or leave out without meaning anything by it (chosen)."""
SMALL_COST, WORD_COST, SWAP_COST = 0.25, 0.9, 1.4
"""Of a small word and of another word too many or too few, and of one word for another: a swap
costs less than losing one and gaining one (chosen by trying, not measured)."""
FIGURES = NUMBER_WORDS | set("mils microns micrometres celsius fahrenheit percent".split())
"""Words of which a figure is made; its unit is one of them."""
FIGURE_COST = 2.0
"""For a word of a figure gained, lost or changed: more than any phrase is accepted at (1.5, see
understand.offer)."""
OPPOSITE = ("un", "non", "mis", "dis")
"""Beginnings that turn a word into its opposite (from memory of English, not a full list)."""
ALIKE = 0.5
"""Share of letters in common from which one word may stand for another (chosen by trying, not
measured)."""


@lru_cache(maxsize=100_000)
def swap_cost(heard: str, wanted: str) -> float:
    """Cost of one word for another: little when they are spelt alike."""
    if heard == wanted:
        return 0.0
    if heard in FIGURES:
        return FIGURE_COST
    if not _may_be_alike(heard, wanted) or _opposite(heard, wanted):
        return FIGURE_COST if wanted in FIGURES else SWAP_COST
    alike = SequenceMatcher(None, heard, wanted, autojunk=False).ratio()
    if alike >= ALIKE:
        return 0.35 + 1.3 * (1 - alike)
    return FIGURE_COST if wanted in FIGURES else SWAP_COST


def lone_cost(word: str) -> float:
    """Cost of a word too many or too few."""
    if word in FIGURES:
        return FIGURE_COST
    return SMALL_COST if word in SMALL_WORDS else WORD_COST


def _may_be_alike(heard: str, wanted: str) -> bool:
    """A quick bound: whether the letters in common can reach the share that is asked."""
    common = min(sum(c in wanted for c in heard), sum(c in heard for c in wanted))
    return 2 * common >= ALIKE * (len(heard) + len(wanted))


def _opposite(heard: str, wanted: str) -> bool:
    return any(heard.startswith(p) != wanted.startswith(p) for p in OPPOSITE)
