"""The smallest deterministic automaton that accepts exactly the phrases of a grammar.

A grammar's word positions (see hear.phrases) are made deterministic by following all positions that
the same words lead to at once, after positions that go on alike are merged; then states that
accept the same endings are merged (Moore, 'Gedanken-experiments on sequential machines', 1956).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from bayhelper.hear.engines.phrases import BEGIN, END, Layout
from bayhelper.terms.errors import HearingError


@dataclass(frozen=True)
class WordAutomaton:
    """State 0 is where a phrase begins; from every state some phrase can be ended."""

    steps: tuple[Mapping[str, int], ...]
    """For each state, the state that each word leads to."""
    final: tuple[bool, ...]
    """For each state, whether a phrase may end there."""

    def accepts(self, words: Sequence[str]) -> bool:
        """Whether the words are a phrase of the grammar, whole and word for word."""
        at: int | None = 0
        for word in words:
            at = self.steps[at].get(word) if at is not None else None
        return at is not None and self.final[at]

    def words(self) -> tuple[str, ...]:
        """Every word that occurs, sorted."""
        return tuple(sorted({word for onward in self.steps for word in onward}))


def grammar_automaton(jsgf: str) -> WordAutomaton:
    """Read a self-contained grammar; saying nothing at all is no phrase of it.

    Raises HearingError when it cannot be laid out, or nothing can be said under it.
    """
    layout = Layout(jsgf, lambda word: True)
    useful = _ending(layout.steps)
    if BEGIN not in useful:
        raise HearingError("Nothing can be said under this grammar; give it a phrase.")
    alike = _alike_positions(layout, useful)
    steps, final = _determined(alike)
    block = _refined(range(len(steps)), lambda at: final[at], lambda at: steps[at].items())
    return _renumbered(steps, final, block)


def phrase_automaton(words: Sequence[str]) -> WordAutomaton:
    """The automaton of one phrase."""
    steps = tuple({word: at} for at, word in enumerate(words, start=1))
    return WordAutomaton((*steps, {}), (*(False for _ in words), True))


def _ending(steps: Mapping[int, set[int]]) -> set[int]:
    """Positions from which the end can be reached."""
    back: dict[int, list[int]] = {}
    for here, onward in steps.items():
        for there in onward:
            back.setdefault(there, []).append(here)
    found, queue = {END}, deque([END])
    while queue:
        for before in back.get(queue.popleft(), ()):
            if before not in found:
                found.add(before)
                queue.append(before)
    return found


@dataclass(frozen=True)
class _Positions:
    """Positions merged into blocks that go on alike."""

    begin: int
    ends: frozenset[int]
    onward: Mapping[int, Mapping[str, frozenset[int]]]
    """For each block, the blocks that each word leads to."""


def _alike_positions(layout: Layout, useful: set[int]) -> _Positions:
    steps = {
        here: [(layout.words[there], there) for there in onward if there >= 0 and there in useful]
        for here, onward in layout.steps.items()
        if here in useful
    }
    ends = {here for here in steps if END in layout.steps[here]}
    block = _refined(list(steps), ends.__contains__, steps.__getitem__)
    onward: dict[int, dict[str, set[int]]] = {}
    for here, found in steps.items():
        if block[here] not in onward:
            ways = onward.setdefault(block[here], {})
            for word, there in found:
                ways.setdefault(word, set()).add(block[there])
    fixed = {
        at: {word: frozenset(found) for word, found in ways.items()} for at, ways in onward.items()
    }
    return _Positions(block[BEGIN], frozenset(block[here] for here in ends), fixed)


def _determined(positions: _Positions) -> tuple[list[dict[str, int]], list[bool]]:
    start = frozenset({positions.begin})
    numbers = {start: 0}
    queue = deque([start])
    steps: list[dict[str, int]] = []
    while queue:
        ways: dict[str, set[int]] = {}
        for at in queue.popleft():
            for word, found in positions.onward[at].items():
                ways.setdefault(word, set()).update(found)
        onward = {}
        for word, reached in ways.items():
            together = frozenset(reached)
            if together not in numbers:
                numbers[together] = len(numbers)
                queue.append(together)
            onward[word] = numbers[together]
        steps.append(onward)
    return steps, [not positions.ends.isdisjoint(together) for together in numbers]


def _refined(
    states: Sequence[int],
    kind: Callable[[int], Hashable],
    onward: Callable[[int], Iterable[tuple[str, int]]],
) -> dict[int, int]:
    """The coarsest split of states into blocks whose words lead to the same blocks."""
    block: dict[int, int] = {}
    seen: dict[Hashable, int] = {}
    for at in states:
        block[at] = seen.setdefault(kind(at), len(seen))
    while True:
        count = len(seen)
        seen = {}
        finer = {}
        for at in states:
            ways = frozenset((word, block[there]) for word, there in onward(at))
            finer[at] = seen.setdefault((block[at], ways), len(seen))
        block = finer
        if len(seen) == count:
            return block


def _renumbered(
    steps: Sequence[Mapping[str, int]], final: Sequence[bool], block: Mapping[int, int]
) -> WordAutomaton:
    """One state for each block, in the order in which their first words are reached."""
    order = {block[0]: 0}
    first = {block[0]: 0}
    queue = deque([0])
    while queue:
        for _, there in sorted(steps[queue.popleft()].items()):
            if block[there] not in order:
                order[block[there]] = len(order)
                first[block[there]] = there
                queue.append(there)
    merged = tuple(
        {word: order[block[there]] for word, there in sorted(steps[first[name]].items())}
        for name in order
    )
    return WordAutomaton(merged, tuple(final[first[name]] for name in order))
