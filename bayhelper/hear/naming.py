"""Whether an address phrase, and the names of technicians, are easily taken for other words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from bayhelper.hear.sounding import distance, syllables

FEWEST_PHONES = 9
"""Shorter phrases wake by accident: in benchmarks/results/address.md all of 7 or 8 phones but one
woke in two or more of six kinds of talk at the shipped line, those of 9 and more hardly ever."""
FEWEST_SYLLABLES = 3
"""Of an address phrase; our own choice, which follows from the phones in most words."""
PHRASE_APART = 3.0
"""Nearer than this, by hear.sounding.distance, an address is taken for a command: about four phones
more, fewer or far apart. Our own line."""
NAME_APART = 1.2
"""Nearer than this and one name is taken for the other. Our own line, set so that what a person
would call alike ('Ruth' and 'roof', 'Robin' and 'Robyn') is told."""

Sounds = Callable[[Sequence[str]], Mapping[str, tuple[str, ...]]]
"""Phones by word, for words that have any."""


def address_warnings(address: str, phrases: Iterable[str], sounds: Sounds) -> tuple[str, ...]:
    """What speaks against an address phrase; nothing when nothing does.

    `phrases` are those of the commands.
    """
    words = address.split()
    own = _phones(words, sounds)
    if not own:
        return (f"No pronunciation is known for '{address}'. Choose English words.",)
    found = []
    if len(own) < FEWEST_PHONES or syllables(own) < FEWEST_SYLLABLES:
        found.append(
            f"'{address}' is short ({syllables(own)} syllables, {len(own)} sounds), so that other "
            f"talk will wake the helper. Choose one with {FEWEST_SYLLABLES} syllables and "
            f"{FEWEST_PHONES} sounds or more."
        )
    near = _nearest(own, {phrase: _phones(phrase.split(), sounds) for phrase in phrases})
    if near and near[0] < PHRASE_APART:
        found.append(f"'{address}' sounds much like the command '{near[1]}'. Choose another.")
    return tuple(found)


def name_warnings(
    names: Sequence[str], address: str, words: Iterable[str], sounds: Sounds
) -> tuple[str, ...]:
    """What speaks against technicians' names, which stand first in a command.

    `words` are those that commands begin with.
    """
    spoken = {name: _phones(name.lower().split(), sounds) for name in names}
    others = {word: _phones([word], sounds) for word in {*words, *address.split()}}
    found = []
    for at, (name, own) in enumerate(spoken.items()):
        if not own:
            found.append(f"No pronunciation is known for '{name}'. Choose another spelling.")
            continue
        near = _nearest(own, others)
        if near and near[0] < NAME_APART:
            found.append(
                f"The name '{name}' sounds much like '{near[1]}', which commands begin with. "
                "Use another name for that person."
            )
        later = dict(list(spoken.items())[at + 1 :])
        twin = _nearest(own, later)
        if twin and twin[0] < NAME_APART:
            found.append(
                f"The names '{name}' and '{twin[1]}' sound much alike. Use another for one of them."
            )
    return tuple(found)


def _phones(words: Sequence[str], sounds: Sounds) -> tuple[str, ...]:
    """Phones of all the words in a row; none when one of them has none."""
    known = sounds(words)
    if any(not known.get(word) for word in words):
        return ()
    return tuple(phone for word in words for phone in known[word])


def _nearest(own: Sequence[str], others: Mapping[str, Sequence[str]]) -> tuple[float, str] | None:
    return min(
        ((distance(own, other), name) for name, other in others.items() if other), default=None
    )
