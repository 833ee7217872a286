"""What was said to the helper, and what came of listening to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bayhelper.terms.command import Command, NearMiss
from bayhelper.terms.sound import Sound

UNSAID = "words where nothing was said"
"""Reason of a refusal: behind the address phrase nothing, or too little, was said."""
Source = Literal["file", "stream", "microphone", "typed"]


@dataclass(frozen=True)
class Utterance:
    """One stretch of speech between two silences, or one typed line."""

    sound: Sound | None
    """The audio, with a little silence kept at both ends; None for a typed line."""
    start_s: float
    """Start in its source, seconds from the first sample."""
    end_s: float
    """End in its source, seconds from the first sample."""
    source: Source
    """Which kind of door it came in by."""
    origin: str = ""
    """File name, device name or empty."""
    typed: str = ""
    """The line, when it was typed."""
    speaker: str = ""
    """Who said it, when the microphone is worn by one person; else empty."""
    range_db: float | None = None
    """Level of loud frames over soft ones before a suppressor cleaned them; None without one."""


@dataclass(frozen=True)
class Decode:
    """One engine's reading of one utterance under one language (grammar or free)."""

    words: tuple[str, ...]
    """Plain lower-case words; empty when the engine found nothing."""
    score_per_frame: float
    """Log score per 10 ms frame in the engine's own units; only differences mean anything."""
    word_spans_s: tuple[tuple[float, float], ...] = ()
    """Start and end of each word in the utterance, seconds; empty when the engine gives none."""
    others: tuple[tuple[tuple[str, ...], float], ...] | None = None
    """Further readings, the best first: words and score per frame. None of an engine that gives
    only the best."""


@dataclass(frozen=True)
class Spotted:
    """The surest place of a phrase in a sound."""

    score: float
    """Decimal logarithm of a likelihood ratio, such as -20; minus infinity when it is nowhere.
    Engines differ in scale."""
    start_s: float = 0.0
    """Where it begins, seconds; 0 when the engine cannot tell."""


@dataclass(frozen=True)
class Evidence:
    """Why a reading is or is not believed."""

    margin_per_frame: float
    """Score of the grammar's reading minus the competing free decode, per frame."""
    address_heard: bool
    """Whether the address phrase was verified on its own."""
    address_score: float
    """The measure the address was judged by (higher is surer)."""
    speech_s: float
    """Length of the utterance, seconds."""
    free_text: str
    """What the competing free decode read."""
    edits: float
    """Cost of matching the heard words to the command's phrase; 0 is word for word."""
    range_db: float
    """Level of its loud frames over its soft ones: small where noise lies in it."""
    faintest_db: float = 0.0
    """How far the softest of the words read lies below the loudest: large where nobody spoke."""
    pace_s: float = float("inf")
    """Seconds a letter, over the words of the command: small where a word was squeezed in. Infinite
    when the engine does not tell where words lie."""
    rival_lead: float = float("inf")
    """Score by which it beats the best reading with another meaning: per frame, times seconds,
    since the difference of a word does not fade in a long sentence. Infinite when not asked."""


@dataclass(frozen=True)
class Hearing:
    """The whole outcome of listening to one utterance."""

    utterance: Utterance
    """What was listened to."""
    text: str
    """Best reading in plain lower-case words, also when refused; may be empty."""
    command: Command | None
    """The command understood, also when refused; None when nothing matched."""
    accepted: bool
    """Whether it may be acted on."""
    why: str
    """Short reason for acceptance or refusal, for people."""
    confidence: float
    """0 to 1, monotone in the evidence; calibrated only as far as the benchmark says."""
    engine: str
    """Name of the engine, 'typed' for a typed line."""
    addressed: bool
    """Whether the address phrase led the utterance."""
    evidence: Evidence | None = None
    """None for typed lines."""
    near: NearMiss | None = None
    """The nearest allowed phrase, when nothing was accepted."""
    audio_s: float = 0.0
    """Seconds of sound listened to."""
    compute_s: float = 0.0
    """Seconds of processor time spent."""
    words: tuple[str, ...] = field(default=())
    """The heard words without the address phrase."""
    alone: bool = True
    """Whether no reading with another meaning comes near, one that may go on after a pause."""
