"""What else may have been said: phrases that differ from a reading in one place and in meaning."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence

from bayhelper.understand.branch import Branch
from bayhelper.understand.costs import FIGURES
from bayhelper.understand.matcher import Found
from bayhelper.understand.network import Graph

LONGEST = 4
"""Words that may stand in another's place, and for which they may stand: a panel takes up to 4."""

Phrase = tuple[str, ...]
Stretch = tuple[int, int]
"""From which word, up to which, others stand."""


def rivals(
    branches: Sequence[Branch],
    words: Sequence[str],
    meaning: Callable[[Found], Hashable],
) -> dict[Stretch, set[Phrase]]:
    """By place, the words that may stand there instead and make it mean something else.

    Of a figure one word changes, or up to two come or go, as 'point five' do: were whole figures
    changed, every one would be a rival.
    Empty when the words are no phrase word for word.
    """
    found: dict[Stretch, set[Phrase]] = {}
    meant = {
        meaning(one)
        for number, branch in enumerate(branches)
        for one in branch.network.exactly(words, meaning, number)
    }
    if not meant:
        return found
    for number, branch in enumerate(branches):
        for (start, end), instead in _changes(branch.network.graph, words):
            phrase = (*words[:start], *instead, *words[end:])
            told = branch.network.exactly(phrase, meaning, number)
            if not any(meaning(one) in meant for one in told):
                found.setdefault((start, end), set()).add(instead)
    return found


def _changes(graph: Graph, words: Sequence[str]) -> Iterator[tuple[Stretch, Phrase]]:
    """Every other stretch of words in one place with which the whole is a phrase of the graph."""
    ahead = _ahead(graph, words)
    behind = _behind(graph, words)
    for start in range(len(words) + 1):
        if not ahead[start]:
            return
        for end in range(start, min(start + LONGEST, len(words)) + 1):
            if behind[end]:
                yield from _between(graph, words, (start, end), ahead[start], behind[end])


def _between(
    graph: Graph, words: Sequence[str], place: Stretch, here: set[int], there: set[int]
) -> Iterator[tuple[Stretch, Phrase]]:
    start, end = place
    stretch = words[start:end]
    if start < end and here & there and _alike(stretch, ()):
        yield place, ()
    ways: list[tuple[Phrase, int]] = [((), state) for state in here]
    seen: set[Phrase] = set()
    while ways:
        said, state = ways.pop()
        for arc in graph.arcs[state]:
            if not said and stretch and arc.word == stretch[0]:
                continue
            now = (*said, arc.word)
            if not _alike(stretch, now):
                continue
            ends_alike = bool(stretch) and arc.word == stretch[-1]
            if arc.to in there and not ends_alike and now not in seen:
                seen.add(now)
                yield place, now
            ways.append((now, arc.to))


def _alike(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether either may be said in place of the other."""
    if FIGURES.isdisjoint([*one, *other]):
        return len(one) <= LONGEST and len(other) <= LONGEST
    return len(one) + len(other) <= 2


def _ahead(graph: Graph, words: Sequence[str]) -> list[set[int]]:
    """States after so many of the words."""
    rows = [{0}]
    for word in words:
        rows.append({a.to for state in rows[-1] for a in graph.arcs[state] if a.word == word})
    return rows


def _behind(graph: Graph, words: Sequence[str]) -> list[set[int]]:
    """States from which the words from there on end a phrase."""
    rows = [{state for state, ends in enumerate(graph.ends) if ends}]
    for word in reversed(words):
        rows.append(
            {
                state
                for state, arcs in enumerate(graph.arcs)
                if any(a.word == word and a.to in rows[-1] for a in arcs)
            }
        )
    return rows[::-1]
