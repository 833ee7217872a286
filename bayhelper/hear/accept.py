"""The ear: one utterance in, one Hearing out, believed only on evidence.

A grammar recogniser answers with the nearest command whatever was said. So nothing is acted on
without three witnesses: the grammar's reading, a competing free reading of the same sound, and the
address phrase found by a search of its own (or the follow-on window after the helper's reply). What
is not for the helper is not read at all.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Protocol

from bayhelper.hear.capture.levels import faintest_db
from bayhelper.hear.engines.nothing import NOWHERE
from bayhelper.hear.evidence import confidence, lead_per_frame, margin_per_frame, pace_s, range_of
from bayhelper.hear.operating_point import CLEARLY_NEARER, POINTS, Lines, OperatingPoint
from bayhelper.terms.command import Match, NearMiss
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Engine, Offer
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import UNSAID, Decode, Evidence, Hearing, Spotted, Utterance

DEFAULT_ADDRESS = "workshop copy"
"""Chosen by measurement: benchmarks/results/address.md."""
SILENCE = Sound(bytes(2 * 6400), 16_000)
"""What an engine is given to get ready with: 0.4 s, long enough for every engine to begin."""
LONGEST_LEAD_S, LEAD_S = 0.9, 0.3
"""More sound before the address phrase than the first is cut off down to the second. Our
own choice: the end-pointer leaves 0.35 s before a first word."""
UNSURE = "sounds more like other talk"
"""Why a reading is refused that beats the free one by too little."""
UNCLEAR = "sounds as much like another command"
"""Why a reading is refused that beats its rivals by too little."""


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
        writer: Callable[[Sound], str] | None = None,
    ) -> None:
        """`stopwatch` gives processor seconds; the engine's own operating point unless given.

        `writer` writes notes down, where the engine's own free reading is no good for it; it is not
        asked for an addressed command.
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
        self._writer = writer

    def prepare(self, offer: Offer) -> None:
        """Make both grammars and the free reading ready, while nobody waits for them."""
        self._engine.missing_words(offer.words())
        free_reading = self._begin_freely(SILENCE)
        for addressed in (False, True) if offer.address else (False,):
            self._engine.listen(SILENCE, offer.jsgf(addressed))
        free_reading()
        if offer.dictation and self._writer is not None:
            self._writer(SILENCE)

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """Read one utterance and judge it; see terms.utterance.Hearing."""
        sound = utterance.sound
        if sound is None:
            raise HearingError("A typed line came to the ear; hear.typed reads those.")
        began = self._stopwatch()
        self._engine.missing_words(offer.words())
        spotted = self._engine.spot(sound, offer.address) if offer.address else NOWHERE
        heard = spotted.score >= self._point.address_score
        if offer.address and not heard and not follow_on:
            hearing, elsewhere_s = self._unread(utterance, sound, spotted), 0.0
        else:
            hearing, elsewhere_s = self._judge(utterance, sound, offer, spotted, heard)
        compute_s = self._stopwatch() - began + elsewhere_s
        return replace(hearing, audio_s=sound.length_s, compute_s=compute_s)

    def _begin_freely(self, sound: Sound) -> Callable[[], tuple[Decode, float]]:
        if self._free_reader is not None:
            return self._free_reader.begin(sound)
        return lambda: (self._engine.listen_freely(sound), 0.0)

    def _unread(self, utterance: Utterance, sound: Sound, spotted: Spotted) -> Hearing:
        """Talk among people: not read, so that it costs little and is written down nowhere."""
        nothing = float("-inf")
        score, speech_s = spotted.score, sound.length_s
        evidence = Evidence(nothing, False, score, speech_s, "", -nothing, range_of(utterance))
        return Hearing(
            utterance=utterance,
            text="",
            command=None,
            accepted=False,
            why="not addressed",
            confidence=0.0,
            engine=self._engine.name,
            addressed=False,
            evidence=evidence,
        )

    def _judge(
        self, utterance: Utterance, sound: Sound, offer: Offer, spotted: Spotted, heard: bool
    ) -> tuple[Hearing, float]:
        """Also the processor seconds that were spent elsewhere."""
        if heard:
            sound = _from_address(sound, spotted.start_s)
        free_reading = self._begin_freely(sound)
        reading = self._engine.listen(sound, offer.jsgf(heard))
        free, elsewhere_s = free_reading()
        match = offer.match(reading.words)
        evidence = Evidence(
            margin_per_frame=margin_per_frame(reading, free),
            address_heard=heard,
            address_score=spotted.score,
            speech_s=sound.length_s,
            free_text=" ".join(free.words),
            edits=match.edits,
            range_db=range_of(utterance),
            faintest_db=faintest_db(sound, reading.word_spans_s),
            pace_s=pace_s(reading, len(offer.address.split()) if match.addressed else 0),
        )
        why = self._refusal(match, evidence, offer)
        least = self._point.rival_lead_in_noise if self._noisy(evidence) else self._point.rival_lead
        if not why and least > float("-inf"):
            if reading.others is None:
                lead = self._rival_lead(reading, sound, offer, self._noisy(evidence))
            else:
                lead = lead_per_frame(reading, match, offer) * sound.length_s
            evidence = replace(evidence, rival_lead=lead)
            why = UNCLEAR if evidence.rival_lead < least else ""
        addressed = match.addressed and heard
        if (why or not addressed) and offer.dictation and self._writer is not None:
            evidence = replace(evidence, free_text=self._writer(sound) or evidence.free_text)
        line = self._line(match, offer, evidence)
        text = " ".join(reading.words or free.words)
        hearing = Hearing(
            utterance=utterance,
            text=text,
            command=match.command,
            accepted=not why,
            why=why or _grounds(match, offer),
            confidence=confidence(self._point.steepness * (evidence.margin_per_frame - line)),
            engine=self._engine.name,
            addressed=addressed,
            evidence=evidence,
            near=self._near(text, match, offer, evidence, why) if why else None,
            words=reading.words,
            alone=evidence.rival_lead >= self._point.early_lead,
        )
        return hearing, elsewhere_s

    def _near(
        self, text: str, match: Match, offer: Offer, evidence: Evidence, why: str
    ) -> NearMiss:
        ask = self._lines(match, offer).ask
        likely = why in (UNSURE, UNCLEAR) and evidence.margin_per_frame >= ask
        return NearMiss(text, match.phrase, match.command, match.edits, why, likely)

    def _rival_lead(self, reading: Decode, sound: Sound, offer: Offer, noisy: bool) -> float:
        """Free speech does not tell 'thirteen' from 'thirty'; the two beside one another do."""
        jsgf = offer.rivals_jsgf(reading.words)
        rival = self._engine.listen_once(sound, jsgf) if jsgf else None
        if rival is None or not rival.words:
            return float("inf")
        if not noisy and self._was_not_said(rival, reading, sound):
            return float("inf")
        return (reading.score_per_frame - rival.score_per_frame) * sound.length_s

    def _was_not_said(self, rival: Decode, reading: Decode, sound: Sound) -> bool:
        """Whether what a rival has more lies in a gap between words."""
        pairs = zip(rival.words, rival.word_spans_s, strict=False)
        own = [
            (end - start) / len(word) for word, (start, end) in pairs if word not in reading.words
        ]
        squeezed = min(own, default=self._point.pace_s) < self._point.pace_s
        return squeezed or faintest_db(sound, rival.word_spans_s) > self._point.faintest_db

    def _lines(self, match: Match, offer: Offer) -> Lines:
        addressed = match.addressed or not offer.address
        return self._point.addressed if addressed else self._point.follow_on

    def _line(self, match: Match, offer: Offer, evidence: Evidence) -> float:
        """The margin from which to act."""
        lines = self._lines(match, offer)
        return lines.act_in_noise if self._noisy(evidence) else lines.act

    def _noisy(self, evidence: Evidence) -> bool:
        return evidence.range_db < self._point.noisy_below_db

    def _refusal(self, match: Match, evidence: Evidence, offer: Offer) -> str:
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
        if evidence.faintest_db > point.faintest_db or evidence.pace_s < point.pace_s:
            return UNSAID
        if evidence.margin_per_frame < self._line(match, offer, evidence):
            return UNSURE
        return ""


def _from_address(sound: Sound, start_s: float) -> Sound:
    """Without what lies long before it: talk, or a sentence of ours, is no part of the command."""
    if start_s <= LONGEST_LEAD_S:
        return sound
    first = round((start_s - LEAD_S) * sound.rate_hz) * 2
    return Sound(sound.pcm[first:], sound.rate_hz)


def _grounds(match: Match, offer: Offer) -> str:
    """On what grounds a reading may be acted on."""
    if not offer.address:
        return "fits the grammar better than free speech"
    return "addressed" if match.addressed else "follow-on"
