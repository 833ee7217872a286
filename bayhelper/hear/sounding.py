"""How far apart words sound, by the phones of the CMU Pronouncing Dictionary.

The weights (a voiced sound for its voiceless pair, a vowel for a vowel) are our own, from memory of
articulatory classes; only the order of the distances is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

VOWELS = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())
"""The vowels among the 39 phones of the CMU Pronouncing Dictionary."""
CLOSE = tuple(
    frozenset(group.split())
    for group in (
        "P B", "T D", "K G", "F V", "TH DH", "S Z", "SH ZH", "CH JH", "M N NG",
        "IH IY", "EH AE", "AH UH", "AO AA", "UW UH", "AH IH", "AH AA",
    )
)  # fmt: skip
"""Phones that are easily taken for one another: alike in all but one feature of articulation."""
LONE, NEAR, SAME_CLASS, FAR = 0.8, 0.4, 0.7, 1.2
"""Costs of a phone too many or too few, and of one for another: close ones, both vowels or both
consonants, others. Our own; see the head."""


def swap(a: str, b: str) -> float:
    """Cost of hearing one phone for another."""
    if a == b:
        return 0.0
    if any(a in group and b in group for group in CLOSE):
        return NEAR
    return SAME_CLASS if (a in VOWELS) == (b in VOWELS) else FAR


def distance(first: Sequence[str], second: Sequence[str]) -> float:
    """Least cost of turning one row of phones into the other (Wagner and Fischer, 1974)."""
    row = [LONE * n for n in range(len(second) + 1)]
    for a in first:
        above, row = row, [row[0] + LONE]
        for (diagonal, straight), b in zip(pairwise(above), second, strict=True):
            row.append(min(straight + LONE, row[-1] + LONE, diagonal + swap(a, b)))
    return row[-1]


def syllables(phones: Sequence[str]) -> int:
    """As many as there are vowels."""
    return sum(phone in VOWELS for phone in phones)
