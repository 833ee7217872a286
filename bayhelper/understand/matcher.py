"""Lays heard words beside a grammar: the cheapest phrase, and the next that means otherwise.

Two searches (A*: Hart, Nilsson and Raphael, 'A formal basis for the heuristic determination of
minimum cost paths', 1968). One runs from the ends of the phrases to their beginning and leaves, in
each place it settles, the exact cost from there to an end. The other runs forward by those costs,
so that whole phrases come out in the order of their cost and nothing else is looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count, islice

from bayhelper.understand.costs import lone_cost, swap_cost
from bayhelper.understand.meaning import pairs
from bayhelper.understand.network import Arc, Graph, Marks, build_graph
from bayhelper.understand.tree import Node

FARTHEST = 2.5
"""Phrases that cost more are not looked for: enough for a near miss to be told (chosen)."""
RIVAL_SPAN = 0.5
"""A phrase with another meaning is looked for up to this much above the cheapest: ten times what
counts as a tie (chosen)."""

Place = tuple[int, int]
"""A state of the graph, and how many heard words lie before it."""
BEGINNING: Place = (0, 0)
"""Where every phrase begins: no word heard yet."""
Costs = dict[Place, float]
"""From each place to an end."""


@dataclass(frozen=True)
class Found:
    """One way through the grammar."""

    branch: int
    """Which of the networks that were looked through."""
    words: tuple[str, ...]
    """The phrase in full."""
    values: dict[str, str]
    """Tag values along it."""
    spans: dict[str, list[str]]
    """Words under each tag key."""
    cost: float
    """0 is word for word."""


@dataclass(frozen=True)
class _Step:
    """The last step of a way, and the way before it."""

    before: _Step | None
    """None where the way begins."""
    marks: Marks
    """Tags that begin or end before the word."""
    word: str
    """The word; empty at the end of a phrase."""


class PhraseNetwork:
    """A grammar made ready for matching."""

    def __init__(self, node: Node) -> None:
        self.graph: Graph = build_graph(node)
        self._back: list[list[tuple[int, str]]] = [[] for _ in self.graph.arcs]
        for state, arcs in enumerate(self.graph.arcs):
            for to, word in dict.fromkeys((arc.to, arc.word) for arc in arcs):
                self._back[to].append((state, word))
        self._words = tuple({arc.word for arcs in self.graph.arcs for arc in arcs})

    def exact(self, heard: Sequence[str]) -> Costs:
        """Places from which the rest of the words fits, at no cost."""
        here = {0}
        rows = [here]
        for word in heard:
            here = {arc.to for state in here for arc in self.graph.arcs[state] if arc.word == word}
            rows.append(here)
        good = {state for state in here if self.graph.ends[state]}
        places = {(state, len(heard)): 0.0 for state in good}
        for at in range(len(heard) - 1, -1, -1):
            good = {
                state
                for state in rows[at]
                if any(a.word == heard[at] and a.to in good for a in self.graph.arcs[state])
            }
            places |= {(state, at): 0.0 for state in good}
        return places

    def exactly(
        self, words: Sequence[str], meaning: Callable[[Found], Hashable], number: int
    ) -> tuple[Found, ...]:
        """The phrase that the words are word for word, and one that means otherwise, if any."""
        to_end = self.exact(words)
        if BEGINNING not in to_end:
            return ()
        return self.in_order(words, to_end, 0.0, meaning, number)

    def goes_on(self, heard: Sequence[str]) -> bool:
        """Whether a longer phrase begins with the words."""
        here = {0}
        for word in heard:
            here = {arc.to for state in here for arc in self.graph.arcs[state] if arc.word == word}
        return any(self.graph.arcs[state] for state in here)

    def costs_to_end(self, heard: Sequence[str], farthest: float) -> Costs:
        """Exact cost to an end from every place that a phrase within the limit can pass."""
        before = [0.0]
        swaps = [{word: swap_cost(h, word) for word in self._words} for h in heard]
        for h, by_word in zip(heard, swaps, strict=True):
            before.append(before[-1] + min([lone_cost(h), *by_word.values()]))
        settled: dict[Place, float] = {}
        best: dict[Place, float] = {}
        heap: list[tuple[float, float, int, int]] = []
        limit = farthest

        def reach(cost: float, state: int, at: int) -> None:
            least = cost + before[at]
            if least <= limit and cost < best.get((state, at), farthest + 1):
                best[state, at] = cost
                heappush(heap, (least, cost, state, at))

        for state, ends in enumerate(self.graph.ends):
            if ends:
                reach(0.0, state, len(heard))
        while heap and heap[0][0] <= limit:
            _, cost, state, at = heappop(heap)
            if (state, at) in settled:
                continue
            settled[state, at] = cost
            if state == 0 and at == 0:
                limit = min(farthest, cost + RIVAL_SPAN)
            if at:
                reach(cost + lone_cost(heard[at - 1]), state, at - 1)
            for source, word in self._back[state]:
                reach(cost + lone_cost(word), source, at)
                if at:
                    reach(cost + swaps[at - 1][word], source, at - 1)
        return settled

    def in_order(
        self,
        heard: Sequence[str],
        to_end: Costs,
        limit: float,
        meaning: Callable[[Found], Hashable],
        number: int,
    ) -> tuple[Found, ...]:
        """The cheapest phrase, and the cheapest within the limit that means otherwise.

        `number` is this network's own, for Found.branch.
        """
        tie = count()
        heap: list[tuple[float, int, float, Place, Hashable, _Step | None, bool]] = []
        done: set[tuple[Place, Hashable]] = set()
        first: tuple[Found, Hashable] | None = None

        def reach(
            cost: float, place: Place, past: Hashable, way: _Step | None, ended: bool = False
        ) -> None:
            least = cost + to_end.get(place, limit + 1)
            if least <= limit + 1e-9 and (ended or (place, past) not in done):
                heappush(heap, (least, next(tie), cost, place, past, way, ended))

        reach(0.0, (0, 0), (), None)
        while heap:
            _, _, cost, place, past, way, ended = heappop(heap)
            if ended:
                found = self._told(way, number, cost)
                meant = meaning(found)
                if first is None:
                    first = (found, meant)
                elif meant != first[1]:
                    return (first[0], found)
                continue
            if (place, past) in done:
                continue
            done.add((place, past))
            state, at = place
            if at == len(heard):
                for marks in self.graph.ends[state]:
                    reach(cost, place, past, _Step(way, marks, ""), ended=True)
            else:
                reach(cost + lone_cost(heard[at]), (state, at + 1), past, way)
            for arc in self.graph.arcs[state]:
                then, step = _past(past, arc), _Step(way, arc.marks, arc.word)
                reach(cost + lone_cost(arc.word), (arc.to, at), then, step)
                if at < len(heard):
                    reach(cost + swap_cost(heard[at], arc.word), (arc.to, at + 1), then, step)
        return () if first is None else (first[0],)

    def _told(self, way: _Step | None, number: int, cost: float) -> Found:
        """Words, tag values and the words under each tag, along a way."""
        steps: list[_Step] = []
        while way is not None:
            steps.append(way)
            way = way.before
        words: list[str] = []
        values: dict[str, str] = {}
        spans: dict[str, list[str]] = {}
        begun: list[int] = []
        for step in reversed(steps):
            for begins, tag in step.marks:
                if begins:
                    begun.append(len(words))
                    continue
                inside = words[begun.pop() :]
                table = self.graph.tables.get(tag)
                told = tag if table is None else table[tuple(inside)]
                for key, value in pairs(told).items():
                    values[key] = value
                    spans[key] = inside
            if step.word:
                words.append(step.word)
        return Found(number, tuple(words), values, spans, cost)


def _past(past: Hashable, arc: Arc) -> Hashable:
    """What of the way so far can matter to the meaning."""
    if not arc.marks and not arc.kept:
        return past
    return (past, arc.marks, arc.word if arc.kept else "")


def find_among(
    networks: Sequence[PhraseNetwork],
    heard: Sequence[str],
    meaning: Callable[[Found], Hashable],
    farthest: float = FARTHEST,
) -> tuple[Found, ...]:
    """The cheapest phrase, and the cheapest that means otherwise if it is within RIVAL_SPAN.

    `branch` of what is found numbers the networks. For words that fit a phrase word for word only
    phrases that fit as well are rivals.
    """
    costs = {n: network.exact(heard) for n, network in enumerate(networks)}
    limit = 0.0
    if not any(BEGINNING in to_end for to_end in costs.values()):
        nearest = limit = farthest
        for number, network in enumerate(networks):
            costs[number] = network.costs_to_end(heard, limit)
            nearest = min(nearest, costs[number].get(BEGINNING, nearest))
            limit = min(farthest, nearest + RIVAL_SPAN)
    ways = [
        found
        for number, to_end in costs.items()
        if to_end.get(BEGINNING, limit + 1) <= limit
        for found in networks[number].in_order(heard, to_end, limit, meaning, number)
    ]
    ways.sort(key=lambda found: found.cost)
    rivals = (found for found in ways if meaning(found) != meaning(ways[0]))
    return (*ways[:1], *islice(rivals, 1))
