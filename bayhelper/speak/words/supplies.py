"""Words about batch, applicator and towels."""

from __future__ import annotations

from bayhelper.speak.durations import duration_words, number_words
from bayhelper.speak.names import Names
from bayhelper.speak.wording import listed, says, sentence, told
from bayhelper.terms.subjects import supplies as say

MISSING = {"batch": "batch number", "surface": "surface temperature"}
"""What the helper asks for before the first panel."""


def _before_first(saying: say.BeforeFirstReply, names: Names) -> str:
    wanted = listed([MISSING[name] for name in saying.missing])
    return told("prime the applicator", f"tell me the {wanted}" if wanted else "")


def _applicator_stood(saying: say.ApplicatorStoodReply, names: Names) -> str:
    stood = duration_words(saying.stood_s)
    return told(f"the applicator has stood for {stood}", "take a fresh one")


def _batch(saying: say.BatchReply, names: Names) -> str:
    figures = [number_words(int(digit)) for digit in saying.batch]
    return sentence(f"batch {' '.join(figures)}")


SENTENCES = (
    says(say.BeforeFirstReply, _before_first),
    says(say.ApplicatorFreshReply, "Fresh applicator. Prime it."),
    says(say.ApplicatorStoodReply, _applicator_stood),
    says(say.ApplicatorChangedReply, "Fresh applicator."),
    says(say.TowelsChangedReply, "Fresh towels."),
    says(say.BatchReply, _batch),
    says(say.BatchImpossibleRefusal, "A batch number has two digits or more. Read it again."),
)
"""What is said about supplies."""
