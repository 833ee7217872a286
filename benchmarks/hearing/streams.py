"""Recordings joined by shop noise into one stream, heard through the end-pointer, and scored."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Protocol

import numpy as np

from bayhelper.hear.capture.endpoint import RATE_HZ
from bayhelper.terms.utterance import Hearing, Utterance
from benchmarks.hearing.material import Spoken, is_said, same_order
from benchmarks.hearing.noises import SPEECH_DBFS, through
from training.sound_files import frame_rms, ratio, read

BLOCK_S = 0.02
"""Sound is fed in pieces of this length: as a microphone gives it, common practice."""
GAP_S = (1.0, 10.0)
"""Noise between two recordings, shortest and longest: chosen."""
CLIPPED_S = 0.1
"""Speech cut off at an end by more than this counts as clipped."""
WORD_DB = 30.0
"""Words begin and end where 10 ms frames come within this of the loudest one."""
HEADROOM = 0.9
"""Of full scale, so that no sum is clipped: chosen."""


@dataclass(frozen=True)
class Placed:
    """One recording in a stream."""

    spoken: Spoken
    """What is said."""
    start_s: float
    """First word's first sample in the stream, seconds."""
    end_s: float
    """Last word's last sample."""


@dataclass(frozen=True)
class Stream:
    """Sound, and what is said in it."""

    pcm: bytes
    """16 kHz, 16-bit, mono."""
    placed: tuple[Placed, ...]
    """In order."""


@dataclass(frozen=True)
class Caught:
    """One utterance that the end-pointer found, and what came of it."""

    utterance: Utterance
    """The sound and its place."""
    closed_s: float
    """Where in the stream its end was noticed."""
    hearing: Hearing
    """What the ear made of it."""
    seconds: float
    """From there to the decision, processor seconds, with two processes side by side."""


@dataclass(frozen=True)
class Row:
    """What came of one recording."""

    say: str
    """What was said."""
    speaker: str
    """By whom."""
    make: str
    """'kokoro', 'other', 'person'."""
    outcome: str
    """'right', 'refused' (nothing was acted on) or 'wrong' (at least one act not as said)."""
    heard: str
    """What was read, pieces parted by '|'."""
    why: str
    """Reason of the last refusal, or what was done wrongly."""
    asked: bool
    """Whether nothing was done, and the helper asks if what it read was meant."""
    pieces: int
    """Utterances it fell into; 0 when the end-pointer found none."""
    merged: bool
    """Whether it shares an utterance with its neighbour."""
    clipped: bool
    """Whether speech was cut off at an end."""
    woken: bool
    """Whether the address phrase was found on its own."""
    latency_s: float | None
    """Last sample of the last word to the decision; None when nothing was decided rightly."""
    margin: float | None
    """Evidence of the utterance that counted."""
    address_score: float | None
    """The same."""
    rival_lead: float | None
    """The same."""
    range_db: float | None
    """The same."""


class Chain(Protocol):
    """One front end and engine, live."""

    def feed(self, block: bytes, at_s: float) -> list[Caught]:
        """More sound, the last sample of which is at `at_s`."""
        ...

    def finish(self, at_s: float) -> list[Caught]:
        """The stream has ended."""
        ...


def build(
    said: Sequence[Spoken], noise: np.ndarray, snr_db: float, voice: str, seed: int
) -> Stream:
    """Recordings at SPEECH_DBFS (active RMS) over one noise, `snr_db` below that by its RMS."""
    rng = np.random.default_rng(seed)
    parts: list[np.ndarray] = []
    placed: list[Placed] = []
    at = 0
    for one in said:
        gap = np.zeros(round(rng.uniform(*GAP_S) * RATE_HZ))
        wave = through(voice, read(one.file).values)
        first, last = words_in(wave)
        at += len(gap)
        placed.append(Placed(one, (at + first) / RATE_HZ, (at + last) / RATE_HZ))
        parts += [gap, wave]
        at += len(wave)
    parts.append(np.zeros(2 * RATE_HZ))
    speech = np.concatenate(parts)
    start = int(rng.integers(len(noise)))
    background = np.resize(np.roll(noise, -start), len(speech))
    level = float(np.sqrt(np.mean(background**2)))
    mixed = speech + background * (ratio(SPEECH_DBFS - snr_db) / level)
    mixed *= min(1.0, HEADROOM / float(np.abs(mixed).max()))
    return Stream((mixed * 32767).astype("<i2").tobytes(), tuple(placed))


def words_in(wave: np.ndarray) -> tuple[int, int]:
    """First and last sample of what is spoken in a clean recording."""
    rms = frame_rms(wave.astype(np.float32))
    loud = np.flatnonzero(rms > rms.max() * ratio(-WORD_DB))
    size = RATE_HZ // 100
    return int(loud[0]) * size, int(loud[-1] + 1) * size


def hear(stream: Stream, chain: Chain) -> list[Caught]:
    """The whole stream, 20 ms at a time."""
    size = 2 * round(BLOCK_S * RATE_HZ)
    caught = []
    for at in range(0, len(stream.pcm), size):
        caught += chain.feed(stream.pcm[at : at + size], (at + size) / 2 / RATE_HZ)
    return caught + chain.finish(len(stream.pcm) / 2 / RATE_HZ)


def score(stream: Stream, caught: Sequence[Caught]) -> tuple[list[Row], int]:
    """One row a recording; and how many acts came of utterances in which nobody spoke to it."""
    shares: dict[int, list[int]] = {}
    for number, one in enumerate(caught):
        for index, placed in enumerate(stream.placed):
            if overlap_s(one, placed) > CLIPPED_S:
                shares.setdefault(number, []).append(index)
    rows = []
    for index, placed in enumerate(stream.placed):
        own = [number for number, those in shares.items() if index in those]
        merged = any(len(shares[number]) > 1 for number in own)
        rows.append(_row(placed, [caught[number] for number in own], merged))
    strays = sum(one.hearing.accepted for n, one in enumerate(caught) if n not in shares)
    return rows, strays


def overlap_s(one: Caught, placed: Placed) -> float:
    """How long both last."""
    utterance = one.utterance
    return min(utterance.end_s, placed.end_s) - max(utterance.start_s, placed.start_s)


def _row(placed: Placed, own: list[Caught], merged: bool) -> Row:
    spoken = placed.spoken
    acted = [one for one in own if one.hearing.accepted]
    right = [one for one in acted if means(one.hearing, spoken)]
    wrong = [one for one in acted if one not in right]
    outcome = "wrong" if wrong or len(right) > 1 else "right" if right else "refused"
    first = min((one.utterance.start_s for one in own), default=0.0)
    last = max((one.utterance.end_s for one in own), default=0.0)
    clipped = bool(own) and (first > placed.start_s + CLIPPED_S or last < placed.end_s - CLIPPED_S)
    told = (wrong or right or own)[-1:]
    evidence = told[0].hearing.evidence if told else None
    why = "nothing found" if not own else " ".join(one.hearing.text for one in wrong)
    done = right[0] if right else None
    return Row(
        say=spoken.say,
        speaker=spoken.speaker,
        make=spoken.make,
        outcome=outcome,
        heard=" | ".join(one.hearing.text for one in own),
        why=why or (told[0].hearing.why if told else ""),
        asked=outcome == "refused"
        and any(one.hearing.near is not None and one.hearing.near.likely for one in own),
        pieces=len(own),
        merged=merged,
        clipped=clipped,
        woken=any(one.hearing.evidence and one.hearing.evidence.address_heard for one in own),
        latency_s=done.closed_s - placed.end_s + done.seconds if done else None,
        margin=finite(evidence.margin_per_frame) if evidence else None,
        address_score=finite(evidence.address_score) if evidence else None,
        rival_lead=finite(evidence.rival_lead) if evidence else None,
        range_db=finite(evidence.range_db) if evidence else None,
    )


def finite(value: float) -> float | None:
    """JSON has no infinity."""
    return value if abs(value) < 1e9 else None


def means(hearing: Hearing, spoken: Spoken) -> bool:
    """Whether command and every detail are as said."""
    if spoken.make == "person":
        return same_order(hearing.text, spoken.say)
    return is_said(hearing.command, spoken)


def to_json(row: Row) -> str:
    """For the cache."""
    return json.dumps(asdict(row))
