"""Reads an utterance as soon as it pauses, so that a complete command need not wait for more."""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

from bayhelper.terms.ports import Listener, Offer
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Hearing, Utterance


class Judge(Listener, Protocol):
    """A listener that gets ready ahead of time, as hear.accept.Ear does."""

    def prepare(self, offer: Offer) -> None:
        """Get ready for what may be said next, while nobody waits."""
        ...


class EarlyReader:
    """Stands before a judge and keeps its last reading.

    What hear.endpoint.EndPointer asks about at a pause is, sample for sample, what it gives as the
    utterance when that pause turns out to be the end: then no second reading is made.
    """

    def __init__(self, judge: Judge) -> None:
        self._judge = judge
        self._read: tuple[Sound, Offer, bool, Hearing] | None = None

    def prepare(self, offer: Offer) -> None:
        self._judge.prepare(offer)

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """The judge's reading, kept for the same sound under the same offer."""
        sound = utterance.sound
        if sound is None:
            return self._judge.listen(utterance, offer, follow_on)
        if self._read is not None:
            known, known_offer, known_follow_on, hearing = self._read
            if known == sound and known_offer is offer and known_follow_on == follow_on:
                return replace(hearing, utterance=utterance)
        hearing = self._judge.listen(utterance, offer, follow_on)
        self._read = (sound, offer, follow_on, hearing)
        return hearing


def is_whole(hearing: Hearing, offer: Offer) -> bool:
    """Whether it is an accepted command, heard word for word, that no longer one begins with.

    Nor may what it was nearly read as go on: *rocker panel* is not *the rocker panel*.
    """
    return hearing.accepted and hearing.alone and offer.complete(hearing.words)
