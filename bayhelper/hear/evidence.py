"""What speaks for a reading, in figures; hear.accept draws the lines."""

from __future__ import annotations

from math import exp

from bayhelper.hear.capture.levels import range_db
from bayhelper.terms.command import Match
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Decode, Utterance


def margin_per_frame(reading: Decode, free: Decode) -> float:
    """By how much a reading under the grammar beats the free one, in the engine's scores.

    Minus infinity when either found nothing: then nothing speaks for the reading.
    """
    if not reading.words or not free.words:
        return float("-inf")
    return reading.score_per_frame - free.score_per_frame


def confidence(over_line: float) -> float:
    """0.5 on the line, rising to 1; monotone in the evidence."""
    if over_line == float("-inf"):
        return 0.0
    return 1 / (1 + exp(-max(min(over_line, 50.0), -50.0)))


def _meaning(match: Match) -> tuple[object, ...]:
    return (match.command.name, match.command.slots) if match.command else ()


def lead_per_frame(reading: Decode, match: Match, offer: Offer) -> float:
    """By how much a reading beats the best of the engine's others that means something else.

    In the engine's scores; infinite when no other one does.
    """
    for words, score_per_frame in reading.others or ():
        if _meaning(offer.match(words)) != _meaning(match):
            return reading.score_per_frame - score_per_frame
    return float("inf")


def pace_s(reading: Decode, before: int) -> float:
    """Seconds a letter over the words after the first `before`; infinite when there are none."""
    letters = sum(map(len, reading.words[before:]))
    if not reading.word_spans_s or not letters:
        return float("inf")
    return sum(end_s - start_s for start_s, end_s in reading.word_spans_s[before:]) / letters


def range_of(utterance: Utterance) -> float:
    """Range of an utterance as it was caught, before a suppressor cleaned it, dB."""
    if utterance.range_db is not None:
        return utterance.range_db
    return range_db(utterance.sound) if utterance.sound else 0.0
