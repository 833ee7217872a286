"""Phrases drawn from a grammar: the canonical one of each command, and seeded samples."""

from __future__ import annotations

from collections.abc import Iterator

from bayhelper.terms.command import SlotValue
from bayhelper.terms.errors import GrammarError
from bayhelper.understand.phrase_offer import PhraseOffer
from bayhelper.understand.tree import Alt, Node, Opt, Repeat, Seq, Tagged, Word


class Draw:
    """A seeded sequence of choices (a 64-bit linear congruential generator, Knuth's constants)."""

    def __init__(self, seed: int) -> None:
        self._state = (seed * 2654435761 + 1) % 2**64

    def below(self, count: int) -> int:
        """A number from 0 to count - 1."""
        self._state = (self._state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (self._state >> 33) % count


def sample(
    offer: PhraseOffer, count: int, seed: int
) -> Iterator[tuple[str, str, dict[str, SlotValue]]]:
    """`count` phrases to say, spread evenly over the commands: words, command, slots.

    Raises GrammarError when nothing may be said.
    """
    if not offer.branches:
        raise GrammarError("Nothing may be said here, so nothing can be drawn.")
    draw = Draw(seed)
    names = sorted({branch.command for branch in offer.branches})
    for number in range(count):
        name = names[number % len(names)]
        trees = [branch.node for branch in offer.branches if branch.command == name]
        words = _said(trees[draw.below(len(trees))], draw)
        command = offer.match(words).command
        slots = dict(command.slots) if command else {}
        yield " ".join([*offer.address.split(), *words]), name, slots


def _said(node: Node, draw: Draw) -> list[str]:
    match node:
        case Word(text=text):
            return [text]
        case Seq(items=items):
            return [word for item in items for word in _said(item, draw)]
        case Alt(options=options):
            return _said(options[draw.below(len(options))], draw)
        case Opt(item=item):
            return _said(item, draw) if draw.below(2) else []
        case Repeat(item=item, at_least=at_least):
            times = at_least + draw.below(2)
            return [word for _ in range(times) for word in _said(item, draw)]
        case Tagged(item=item):
            return _said(item, draw)
        case _:
            return []


def canonical(offer: PhraseOffer) -> Iterator[tuple[str, str]]:
    """Each command with its first phrase, optional words left out."""
    for branch in offer.branches:
        yield branch.command, " ".join(_first(branch.node))


def _first(node: Node) -> list[str]:
    match node:
        case Word(text=text):
            return [text]
        case Seq(items=items):
            return [word for item in items for word in _first(item)]
        case Alt(options=options):
            return _first(options[0]) if options else []
        case Repeat(item=item, at_least=at_least):
            return _first(item) if at_least else []
        case Tagged(item=item):
            return _first(item)
        case _:
            return []
