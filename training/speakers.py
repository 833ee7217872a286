"""Who speaks: the notation for a synthetic speaker, and the rosters.

A speaker is written as

    kokoro:bf_emma                      one voice of Kokoro-82M
    kokoro:am_puck*0.6+if_sara*0.4      a mixture, which is a new speaker
    espeak:en-gb-x-rp+f3                a voice of eSpeak NG, with a variant
    flite:slt                           a voice of flite
    festival:ked_diphone                a voice of Festival
    piper:joe@0.9                       Piper's, a tenth deeper

Kokoro's names begin with the accent (a American, b British, others foreign) and f or m. A speaker's
dialect is that of the heaviest part that is English, because it decides which words he would use.

The rosters share no voice, not even as a part of a mixture: what is tuned on one is reported on
another, and the recordings of tests and of the demo belong to neither.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Dialect = Literal["uk", "us"]
SYNTHESISERS = ("kokoro", "espeak", "flite", "festival", "piper")
"""What may stand before the colon."""


class RecipeError(Exception):
    """A table, speaker or voice file is not usable; the message says which and what to do."""


@dataclass(frozen=True)
class Speaker:
    """One synthetic speaker."""

    synthesiser: str
    """One of SYNTHESISERS."""
    parts: tuple[tuple[str, float], ...]
    """Voice names and weights; the weights add up to 1."""
    dialect: Dialect
    """Which English the words are pronounced in."""

    @property
    def voice(self) -> str:
        """The name of the only or the heaviest voice."""
        return max(self.parts, key=lambda part: part[1])[0]


def parse_speaker(text: str) -> Speaker:
    """Read the notation above; RecipeError when it is not that."""
    synthesiser, colon, rest = text.partition(":")
    if not colon or synthesiser not in SYNTHESISERS or not rest:
        raise RecipeError(
            f"expected a speaker such as 'kokoro:bf_emma', got {text!r}: write one of "
            f"{', '.join(SYNTHESISERS)}, a colon, and a voice"
        )
    if synthesiser != "kokoro":
        dialect: Dialect = "uk" if synthesiser == "espeak" and "us" not in rest else "us"
        return Speaker(synthesiser, ((rest, 1.0),), dialect)
    weighed: list[tuple[str, float]] = []
    for term in rest.split("+"):
        name, star, weight = term.partition("*")
        try:
            weighed.append((name.strip(), float(weight) if star else 1.0))
        except ValueError:
            raise RecipeError(
                f"expected a weight after '*' in {text!r}, got {weight!r}: write a number"
            ) from None
    total = sum(weight for _, weight in weighed)
    if total <= 0 or any(weight <= 0 for _, weight in weighed):
        raise RecipeError(f"expected weights above zero in {text!r}: correct them")
    english = [part for part in weighed if part[0][:1] in "ab"] or [("a", 1.0)]
    heaviest = max(english, key=lambda part: part[1])[0]
    parts = tuple((name, weight / total) for name, weight in weighed)
    return Speaker("kokoro", parts, "uk" if heaviest.startswith("b") else "us")


FIXTURES: dict[str, str] = {
    "emma": "kokoro:bf_emma",
    "george": "kokoro:bm_george",
    "michael": "kokoro:am_michael",
}
"""Speakers of the tests and of the demo."""

TUNE: dict[str, str] = {
    "t1": "kokoro:af_bella",
    "t2": "kokoro:am_fenrir",
    "t3": "kokoro:bf_isabella",
    "t4": "kokoro:bm_lewis",
    "t5": "kokoro:af_kore*0.6+am_echo*0.4",
    "t6": "kokoro:bf_alice*0.7+af_sky*0.3",
    "t7": "kokoro:am_eric*0.6+im_nicola*0.4",
    "t8": "kokoro:af_alloy*0.55+hf_alpha*0.45",
}
"""Speakers for tuning the ear's thresholds."""

REPORT: dict[str, str] = {
    "r1": "kokoro:af_heart",
    "r2": "kokoro:am_puck",
    "r3": "kokoro:bf_lily",
    "r4": "kokoro:bm_fable",
    "r5": "kokoro:af_sarah*0.6+am_onyx*0.4",
    "r6": "kokoro:bm_daniel*0.7+af_aoede*0.3",
    "r7": "kokoro:am_liam*0.6+em_alex*0.4",
    "r8": "kokoro:af_nova*0.55+ff_siwis*0.45",
}
"""Speakers for reporting how well the tuned ear does."""
