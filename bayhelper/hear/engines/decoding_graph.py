"""Graphs that Vosk searches as they are: from the numbered transitions of phones to words.

Between words there may be silence. A phone is laid out as hear.phones has it: its own output once
or oftener, then blanks or none; Kaldi wants the way into a state first, and its loop on the state
that it leads to. Where words that may be said at one place begin alike, that is laid out once.

A little long, because nodes and the numbers that they get when they are laid out go together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, log
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bayhelper.hear.engines.fst_file import ARC, write_const_fst
from bayhelper.hear.engines.lexicon import Lexicon, Pronunciation
from bayhelper.hear.engines.phones import (
    PHONE_IDS,
    PHONES,
    SILENCE,
    phone_id,
    phone_ids,
    transition_id,
    word_boundaries,
)
from bayhelper.hear.engines.word_automaton import WordAutomaton, phrase_automaton
from bayhelper.terms.errors import HearingError

SILENCE_CHANCE = 0.5
"""Of a pause at each place where there may be one; the value of Kaldi's recipes (from memory)."""
BLANK_COST = 0.1
"""Of each blank inside a phone: a long pause is then laid to silence, not to the last word."""
BREAK_COST = 4.0
"""Of ending where a phrase goes on; a natural logarithm, as all costs here. Our own choice."""
WORD_COST = 0.0
"""Of each word of a grammar: none is likelier than another, and phrases differ in length."""
FREE_WORD_COST = log(log(20_000) + 0.577)
"""Of each freely read word, besides the logarithm of its rank (Zipf's law, normalised)."""
PHONE_COST = log(len(PHONES))
"""Of each phone of what is no known word."""
UNKNOWN = "[unk]"
"""How what is no known word is written."""
NOTHING = "<eps>"
"""How OpenFst and Kaldi write the label of no word, which is 0."""
GRAPH, WORDS, BOUNDARIES = "HCLG.fst", "words.txt", "phones/word_boundary.int"
"""Files that Vosk looks for in a model's graph folder."""


def parameters() -> str:
    """Everything that a graph depends on besides the words and how they are said."""
    return f"3 {BREAK_COST} {SILENCE_CHANCE} {BLANK_COST} {WORD_COST} {FREE_WORD_COST} {PHONE_COST}"


@dataclass(frozen=True)
class DecodingGraph:
    """State 0 is the start."""

    arcs: NDArray[np.void]
    """Rows of hear.fst_file.ARC; they take transition ids and give places in `words`."""
    finals: Mapping[int, float]
    """What it costs to end, by state."""
    words: tuple[str, ...]
    """The first stands for no word."""

    def write(self, folder: Path) -> None:
        """Write what Vosk looks for in a model's graph/."""
        (folder / BOUNDARIES).parent.mkdir(parents=True, exist_ok=True)
        write_const_fst(folder / GRAPH, self.arcs, self.finals)
        lines = (f"{word} {at}\n" for at, word in enumerate(self.words))
        (folder / WORDS).write_text("".join(lines), encoding="utf-8")
        (folder / BOUNDARIES).write_text(word_boundaries(), encoding="utf-8")


def grammar_graph(automaton: WordAutomaton, lexicon: Lexicon) -> DecodingGraph:
    """The phrases of an automaton; and what breaks off: else a word is put in to end a phrase.

    Silence is a phrase that breaks off at once. Raises HearingError for a word that nobody can say.
    """
    return _drawn(automaton, lexicon, frozenset(), BREAK_COST)


def address_graph(phrase: Sequence[str], lexicon: Lexicon) -> DecodingGraph:
    """One phrase, with anything or nothing before and behind it. Raises HearingError likewise."""
    return _drawn(phrase_automaton(phrase), lexicon, frozenset({0, len(phrase)}))


def unknown_graph() -> DecodingGraph:
    """Any phones at all."""
    return _drawn(phrase_automaton(()), Lexicon({}), frozenset({0}))


def free_graph(lexicon: Lexicon) -> DecodingGraph:
    """The words of the lexicon in any order, common ones cheaper than rare ones."""
    draft = _Draft()
    before, after = draft.node(), draft.node()
    draft.pause(before, after)
    costs = (
        (word, lexicon.pronunciations(word), FREE_WORD_COST + log(rank))
        for rank, word in enumerate(lexicon.words, start=1)
    )
    draft.words_between(after, ((word, ways, before, cost) for word, ways, cost in costs))
    return draft.graph({after: 0.0})


def _drawn(
    automaton: WordAutomaton, lexicon: Lexicon, loose: frozenset[int], broken: float = inf
) -> DecodingGraph:
    """An automaton's words; at the `loose` states anything else may be said too."""
    missing = lexicon.missing(automaton.words())
    if missing:
        raise HearingError(
            f"Nobody knows how to say {', '.join(missing)}. Ask missing_words first, and use "
            "other words."
        )
    draft = _Draft()
    before = [draft.node() for _ in automaton.steps]
    after = [draft.node() for _ in automaton.steps]
    for state, steps in enumerate(automaton.steps):
        draft.pause(before[state], after[state])
        onward = (
            (word, lexicon.pronunciations(word), before[there], WORD_COST)
            for word, there in steps.items()
        )
        draft.words_between(after[state], onward)
        if state in loose:
            draft.unknown(after[state], before[state])
    ends = {after[at]: 0.0 if final else broken for at, final in enumerate(automaton.final)}
    return draft.graph({at: cost for at, cost in ends.items() if cost < inf})


class _Draft:
    """Nodes with whole phones, pauses and words between them, not yet laid out as transitions."""

    def __init__(self) -> None:
        self._nodes = 0
        self._phones: list[tuple[int, int, int, float]] = []
        self._pauses: list[tuple[int, int]] = []
        self._labels: list[tuple[int, int, int, float]] = []
        self._words = {NOTHING: 0}

    def node(self) -> int:
        self._nodes += 1
        return self._nodes - 1

    def pause(self, source: int, target: int) -> None:
        """A place where there may be silence, or none."""
        self._pauses.append((source, target))

    def words_between(
        self, source: int, words: Iterable[tuple[str, Sequence[Pronunciation], int, float]]
    ) -> None:
        """Words with how they are said, where they lead and what they cost, from one node.

        Words come the cheapest first: what they begin with costs as much as the cheapest of them,
        so that the search need not wait for a word's end to drop the dear ones.
        """
        branches: dict[tuple[int, int], int] = {}
        paid = {source: 0.0}
        for word, ways, target, cost in words:
            label = self._words.setdefault(word, len(self._words))
            for phones in ways:
                here = source
                for phone in phone_ids(phones):
                    there = branches.get((here, phone))
                    if there is None:
                        there = branches[here, phone] = self.node()
                        paid[there] = cost
                        self._phones.append((here, there, phone, cost - paid[here]))
                    here = there
                self._labels.append((here, target, label, cost - paid[here]))

    def unknown(self, source: int, target: int) -> None:
        """One or more phones, whichever."""
        inside, end = self.node(), self.node()
        label = self._words.setdefault(UNKNOWN, len(self._words))
        ways = {
            "S": (source, end),
            "B": (source, inside),
            "I": (inside, inside),
            "E": (inside, end),
        }
        for phone in PHONES:
            for place, (here, there) in ways.items():
                self._phones.append((here, there, phone_id(phone, place), PHONE_COST))
        self._labels.append((end, target, label, 0.0))

    def graph(self, finals: Mapping[int, float]) -> DecodingGraph:
        tables = (self._phone_arcs(), self._pause_arcs(), self._label_arcs())
        return DecodingGraph(np.concatenate(tables), finals, tuple(self._words))

    def _phone_arcs(self) -> NDArray[np.void]:
        """Each phone has states of its own: after its output alone; with blanks to come; blank."""
        source, target, phone, cost = _columns(self._phones, 4)
        once = self._nodes + 3 * np.arange(len(source))
        held, blank = once + 1, once + 2
        takes = _TRANSITIONS[phone.astype(int)].T
        return np.concatenate(
            [
                _arcs(source, once, takes[_OUT], cost=cost),
                _arcs(once, once, takes[_AGAIN]),
                _arcs(once, target),
                _arcs(source, held, takes[_ON], cost=cost),
                _arcs(held, held, takes[_AGAIN]),
                _arcs(held, blank, takes[_BLANK_OUT]),
                _arcs(blank, blank, takes[_BLANK_AGAIN], cost=BLANK_COST),
                _arcs(blank, target),
            ]
        )

    def _pause_arcs(self) -> NDArray[np.void]:
        source, target = _columns(self._pauses, 2)
        silent = self._nodes + 3 * len(self._phones) + np.arange(len(source))
        out, again = transition_id(SILENCE, 0, 1), transition_id(SILENCE, 0, 0)
        return np.concatenate(
            [
                _arcs(source, target, cost=-log(1 - SILENCE_CHANCE)),
                _arcs(source, silent, out, cost=-log(SILENCE_CHANCE)),
                _arcs(silent, silent, again),
                _arcs(silent, target),
            ]
        )

    def _label_arcs(self) -> NDArray[np.void]:
        source, target, label, cost = _columns(self._labels, 4)
        return _arcs(source, target, gives=label, cost=cost)


_OUT, _AGAIN, _ON, _BLANK_OUT, _BLANK_AGAIN = range(5)
"""Ways through a phone: its output and out, again, on to blanks; a blank and out, again."""
_WAYS = ((0, 2), (0, 0), (0, 1), (1, 2), (1, 1))
"""From which state to which each of these leads, see hear.engines.phones.PHONE_TOPOLOGY."""
_TRANSITIONS = np.array(
    [
        [transition_id(phone, *way) if phone > SILENCE else 0 for way in _WAYS]
        for phone in range(1 + max(PHONE_IDS))
    ]
)
"""By phone id, the transitions in the order of `_WAYS`."""


def _columns(rows: Sequence[tuple[float, ...]], count: int) -> NDArray[np.float64]:
    return np.array(rows, dtype=np.float64).reshape(-1, count).T


def _arcs(
    source: NDArray[np.number],
    target: NDArray[np.number],
    takes: NDArray[np.number] | int = 0,
    gives: NDArray[np.number] | int = 0,
    cost: NDArray[np.number] | float = 0.0,
) -> NDArray[np.void]:
    table = np.zeros(len(source), ARC)
    table["source"], table["target"] = source, target
    table["input"], table["output"], table["cost"] = takes, gives, cost
    return table
