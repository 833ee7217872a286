"""The ear: one utterance in, one Hearing out, believed only on evidence.

A grammar recogniser answers with the nearest command whatever was said. So nothing is acted on
without three witnesses: the grammar's reading, a competing free reading of the same sound, and the
address phrase found by a search of its own (or the follow-on window after the helper's reply).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp
from typing import Protocol

from bayhelper.terms.command import Match, NearMiss
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Engine, Offer
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Evidence, Hearing, Utterance

DEFAULT_ADDRESS = "workshop copy"
"""Chosen by measurement: benchmarks/results/address.md."""


@dataclass(frozen=True)
class OperatingPoint:
    """Where acceptance draws its lines, in one engine's scores; see benchmarks/rejection.py."""

    margin: float
    """Least score of the grammar's reading minus the free one's, per frame, when addressed."""
    follow_on_margin: float
    """The same in the follow-on window, where no address is needed: more is asked."""
    address_score: float
    """Least score of the search for the address phrase, see terms.ports.Engine.spot."""
    steepness: float
    """How fast confidence rises with the margin over its line; monotone, not calibrated."""
    edits: float = 0.6
    """Greatest cost of laying the heard words beside the phrase."""
    shortest_s: float = 0.35
    """Utterances shorter than this are no commands."""


DEFAULT_POINT = OperatingPoint(
    margin=-12.0, follow_on_margin=-8.0, address_score=-40.0, steepness=0.15
)
"""PocketSphinx, chosen on the tuning half of benchmarks/results/rejection.md."""
POINTS = {
    "pocketsphinx": DEFAULT_POINT,
    "vosk": OperatingPoint(margin=-0.08, follow_on_margin=-0.06, address_score=0.0, steepness=20.0),
}
"""By name of the engine. Vosk's is provisional: seen on three Korean recordings of the tests, since
no English model was at hand; measure it with benchmarks/rejection.py when one is."""
CLEARLY_NEARER = 0.3
"""How much dearer a phrase with another meaning must be than one not heard word for word."""


class FreeReader(Protocol):
    """Reads freely elsewhere, at the same time."""

    def begin(self, sound: Sound) -> Callable[[], tuple[Decode, float]]:
        """Start; what is returned waits for the reading and gives its processor seconds too."""
        ...


class Ear:
    """Listens with one engine, whose free reading may be made elsewhere at the same time."""

    def __init__(
        self,
        engine: Engine,
        stopwatch: Callable[[], float],
        point: OperatingPoint | None = None,
        free_reader: FreeReader | None = None,
    ) -> None:
        """`stopwatch` gives processor seconds; the engine's own operating point unless given.

        Raises HearingError for an engine that none is known for.
        """
        point = point or POINTS.get(engine.name)
        if point is None:
            raise HearingError(
                f"Expected an engine with an operating point ({', '.join(POINTS)}), got "
                f"'{engine.name}'. Measure one and give it."
            )
        self._engine = engine
        self._stopwatch = stopwatch
        self._point = point
        self._free_reader = free_reader

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """Read one utterance and judge it; see terms.utterance.Hearing."""
        sound = utterance.sound
        if sound is None:
            raise HearingError("A typed line came to the ear; hear.typed reads those.")
        began = self._stopwatch()
        free_reading = self._begin_freely(sound)
        hearing, elsewhere_s = self._judge(utterance, sound, offer, follow_on, free_reading)
        compute_s = self._stopwatch() - began + elsewhere_s
        return Hearing(**(vars(hearing) | {"audio_s": sound.length_s, "compute_s": compute_s}))

    def _begin_freely(self, sound: Sound) -> Callable[[], tuple[Decode, float]]:
        if self._free_reader is not None:
            return self._free_reader.begin(sound)
        return lambda: (self._engine.listen_freely(sound), 0.0)

    def _judge(
        self,
        utterance: Utterance,
        sound: Sound,
        offer: Offer,
        follow_on: bool,
        free_reading: Callable[[], tuple[Decode, float]],
    ) -> tuple[Hearing, float]:
        """Also the processor seconds that were spent elsewhere."""
        self._engine.missing_words(offer.words())
        spotted = self._engine.spot(sound, offer.address) if offer.address else float("-inf")
        heard = spotted >= self._point.address_score
        addressed = bool(offer.address) and (heard or not follow_on)
        reading = self._engine.listen(sound, offer.jsgf(addressed))
        free, elsewhere_s = free_reading()
        match = offer.match(reading.words)
        evidence = Evidence(
            margin_per_frame=_margin(reading, free),
            address_heard=heard,
            address_score=spotted,
            speech_s=sound.length_s,
            free_text=" ".join(free.words),
            edits=match.edits,
        )
        why = self._refusal(match, evidence, offer, follow_on)
        line = self._line(match, offer)
        text = " ".join(reading.words or free.words)
        hearing = Hearing(
            utterance=utterance,
            text=text,
            command=match.command,
            accepted=not why,
            why=why or _grounds(match, offer),
            confidence=_confidence(self._point.steepness * (evidence.margin_per_frame - line)),
            engine=self._engine.name,
            addressed=match.addressed and evidence.address_heard,
            evidence=evidence,
            near=NearMiss(text, match.phrase, match.command, match.edits, why) if why else None,
            words=reading.words,
        )
        return hearing, elsewhere_s

    def _line(self, match: Match, offer: Offer) -> float:
        addressed = match.addressed or not offer.address
        return self._point.margin if addressed else self._point.follow_on_margin

    def _refusal(self, match: Match, evidence: Evidence, offer: Offer, follow_on: bool) -> str:
        """Why the reading may not be acted on; '' when it may."""
        point = self._point
        if not match.phrase:
            return "nothing that may be said now"
        if evidence.speech_s < point.shortest_s:
            return "too short"
        if match.edits > point.edits:
            return "not near enough to any phrase"
        if match.edits > 0 and match.rival_edits - match.edits < CLEARLY_NEARER:
            return "near two phrases of different meaning"
        if offer.address and not match.addressed and not follow_on:
            return "not addressed"
        if match.addressed and not evidence.address_heard:
            return "address phrase not found on its own"
        if evidence.margin_per_frame < self._line(match, offer):
            return "sounds more like other talk"
        return ""


def _grounds(match: Match, offer: Offer) -> str:
    """On what grounds a reading may be acted on."""
    if not offer.address:
        return "fits the grammar better than free speech"
    return "addressed" if match.addressed else "follow-on"


def _margin(reading: Decode, free: Decode) -> float:
    """Minus infinity when either found nothing: then nothing speaks for the reading."""
    if not reading.words or not free.words:
        return float("-inf")
    return reading.score_per_frame - free.score_per_frame


def _confidence(over_line: float) -> float:
    """0.5 on the line, rising to 1; monotone in the evidence."""
    if over_line == float("-inf"):
        return 0.0
    return 1 / (1 + exp(-max(min(over_line, 50.0), -50.0)))
