"""What is said in the benchmark: commands of speakers that nothing was tuned on, and orders."""

from __future__ import annotations

import json
import os
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from bayhelper.terms.command import Command, Match
from bayhelper.understand.offer import offer_of_grammar, plain_words
from bayhelper.understand.phrase_offer import PhraseOffer
from training.sound_files import recording, write
from training.speakers import RecipeError, parse_speaker
from training.synthesisers import Synthesisers

OTHER_MAKE = {
    "e1": "espeak:en-gb-x-rp+f3",
    "e2": "espeak:en-us+m3",
    "f1": "flite:slt",
    "f2": "flite:rms",
    "f3": "flite:awb",
}
"""Voices of two other synthesisers, that no tuning has seen."""
ORDERS = "orders"
"""Stands for a dialect: the grammar of the order recordings."""
POLITE = "brew can i get have want me give i'd like make may a an with and".split()
"""Words of an order that change nothing in what is ordered."""
PIPER = {"p1": "piper:joe", "p2": "piper:joe@0.88", "p3": "piper:joe@1.15"}
"""A neural synthesiser of another make; it has one voice, here at three pitches."""


@dataclass(frozen=True)
class Spoken:
    """One recording of a command."""

    file: Path
    """Where it lies."""
    say: str
    """Its words."""
    command: str
    """What it means."""
    slots: dict[str, Any] = field(hash=False)
    """Its details."""
    dialect: str
    """'uk', 'us' or ORDERS."""
    speaker: str
    """Who says it."""
    make: str
    """'kokoro', 'piper', 'other' for eSpeak NG and flite, or 'person'."""


def held_out(folder: Path, offers: dict[str, PhraseOffer]) -> list[Spoken]:
    """The reporting half of a corpus, as far as the present grammar takes the words."""
    rows = map(json.loads, (folder / "index.jsonl").read_text(encoding="utf-8").splitlines())
    said = [
        Spoken(
            folder / row["file"], row["say"], row["command"], row["slots"], row["dialect"],
            row["speaker"], "kokoro",
        )
        for row in rows
        if row["half"] == "report"
    ]  # fmt: skip
    return [one for one in said if sayable(one, offers[one.dialect])]


def orders(folder: Path) -> list[Spoken]:
    """People's drink orders: Picovoice, Speech-to-Intent Benchmark (public repository, 2018 on)."""
    labels = json.loads((folder / "labels.json").read_text(encoding="utf-8"))
    return [
        Spoken(folder / "clips" / name, " ".join(details.values()), "", {}, ORDERS, "", "person")
        for name, details in sorted(labels.items())
    ]


def same_order(heard: str, details: str) -> bool:
    """Whether every detail is there and no other, whatever the sentence around them."""
    return _details(heard) == _details(details)


def _details(text: str) -> list[str]:
    return sorted(word for word in text.split() if word not in POLITE)


class OrderOffer(PhraseOffer):
    """What may be ordered: orders mean different things if a detail differs."""

    def match(self, words: Sequence[str]) -> Match:
        """See terms.ports.Offer."""
        found = super().match(words)
        order = Command("order", {"details": " ".join(_details(found.phrase))})
        return replace(found, command=order) if found.phrase else found


def order_offer(folder: Path) -> OrderOffer:
    """What may be ordered."""
    grammar = (folder / "orders.jsgf").read_text(encoding="utf-8")
    return OrderOffer(offer_of_grammar(grammar, "orders.jsgf").branches)


def sayable(one: Spoken, offer: PhraseOffer) -> bool:
    """Whether the words still mean what the row says, word for word."""
    addressed, rest = offer.split_address(plain_words(one.say))
    if not addressed or not offer.accepts(rest):
        return False
    return is_said(offer.match(plain_words(one.say)).command, one)


def is_said(command: Command | None, spoken: Spoken) -> bool:
    """Whether command and every detail are as said."""
    return command is not None and (command.name, command.slots) == (spoken.command, spoken.slots)


def other_make(
    said: list[Spoken], make: str, voices: dict[str, str], into: Path, seed: int
) -> Iterator[Spoken]:
    """The same phrases by other synthesisers, one voice each in turn; made once and kept."""
    synthesisers = Synthesisers(into)
    phrases = sorted({(one.say, one.dialect): one for one in said}.values(), key=lambda o: o.say)
    random.Random(seed).shuffle(phrases)
    for number, one in enumerate(phrases):
        names = [n for n, v in voices.items() if parse_speaker(v).dialect == one.dialect]
        if not names:
            continue
        name = names[number % len(names)]
        speaker = parse_speaker(voices[name])
        file = into / f"{name}_{sha256(one.say.encode()).hexdigest()[:12]}.flac"
        if not file.exists():
            try:
                speech = synthesisers.for_speaker(speaker).say(one.say, speaker, 1.0)
            except RecipeError:
                continue
            part = file.with_suffix(f".{os.getpid()}.flac")
            write(part, recording(speech, one.say))
            part.replace(file)
        yield Spoken(file, one.say, one.command, one.slots, one.dialect, name, make)
