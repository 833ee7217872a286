"""Lays heard words beside a grammar: the cheapest phrase, its tags, and what it cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache
from heapq import heappop, heappush

from bayhelper.terms.errors import GrammarError
from bayhelper.understand.meaning import pairs
from bayhelper.understand.tree import Alt, Node, Opt, Ref, Repeat, Seq, Tagged, Word

SMALL_WORDS = frozenset("a an the of on to it is and in me please degrees".split())
SMALL_COST, WORD_COST = 0.25, 0.9
FARTHEST = 3.0
"""Phrases that cost more are not looked for."""


@lru_cache(maxsize=50_000)
def swap_cost(heard: str, wanted: str) -> float:
    """Cost of one word for another: little when they are spelt alike."""
    if heard == wanted:
        return 0.0
    alike = SequenceMatcher(None, heard, wanted).ratio()
    return 0.35 + 1.3 * (1 - alike) if alike >= 0.5 else 1.4


def lone_cost(word: str) -> float:
    """Cost of a word too many or too few."""
    return SMALL_COST if word in SMALL_WORDS else WORD_COST


@dataclass(frozen=True)
class Found:
    """The cheapest way through the grammar."""

    branch: int
    """Which of the branches given to the network."""
    words: tuple[str, ...]
    """The phrase in full."""
    values: dict[str, str]
    """Tag values along it."""
    spans: dict[str, list[str]]
    """Words under each tag key."""
    cost: float
    """0 is word for word."""


Arc = tuple[str, str, int]
"""Kind ('word', 'open', 'close', ''), what, and the state it leads to."""


class Network:
    """A grammar as states and arcs; each branch ends in a state of its own."""

    def __init__(self, branches: Sequence[Node]) -> None:
        self._arcs: list[list[Arc]] = [[]]
        self._ends: dict[int, int] = {}
        for number, node in enumerate(branches):
            self._ends[self._add(node, 0)] = number

    def _state(self) -> int:
        self._arcs.append([])
        return len(self._arcs) - 1

    def _add(self, node: Node, start: int) -> int:
        """Lay the node's arcs from a state; gives a fresh state where it ends."""
        end = self._state()
        match node:
            case Word(text=text):
                self._arcs[start].append(("word", text, end))
            case Seq(items=items):
                at = start
                for item in items:
                    at = self._add(item, at)
                self._arcs[at].append(("", "", end))
            case Alt(options=options):
                for option in options:
                    self._arcs[self._add(option, start)].append(("", "", end))
            case Opt(item=item):
                self._arcs[start].append(("", "", end))
                self._arcs[self._add(item, start)].append(("", "", end))
            case Repeat(item=item, at_least=at_least):
                self._repeat(item, at_least, start, end)
            case Tagged(item=item, tag=tag):
                inside = self._state()
                self._arcs[start].append(("open", tag, inside))
                self._arcs[self._add(item, inside)].append(("close", tag, end))
            case Ref():
                raise GrammarError("A network is built from a tree without references.")
        return end

    def _repeat(self, item: Node, at_least: int, start: int, end: int) -> None:
        loop = self._state()
        self._arcs[start].append(("", "", loop))
        back = self._add(item, loop)
        self._arcs[back] += [("", "", loop), ("", "", end)]
        if at_least == 0:
            self._arcs[loop].append(("", "", end))

    def find(self, heard: Sequence[str], farthest: float = FARTHEST) -> tuple[Found, ...]:
        """The cheapest phrase of each of the two cheapest branches, cheapest first.

        After a phrase that fits word for word no dearer one is looked for.
        """
        heap: list[tuple[float, int, int]] = [(0.0, 0, 0)]
        best: dict[tuple[int, int], float] = {(0, 0): 0.0}
        came: dict[tuple[int, int], tuple[int, int, Arc | None]] = {}
        done: set[tuple[int, int]] = set()
        found: list[Found] = []
        while heap:
            cost, state, at = heappop(heap)
            here = (state, at)
            if here in done:
                continue
            done.add(here)
            if found and found[0].cost == 0 and cost > 0:
                break
            if at == len(heard) and state in self._ends:
                found.append(self._trace(here, came, cost))
                if len(found) == 2:
                    break
            for step, to, to_at, arc in self._steps(heard, state, at):
                total = cost + step
                there = (to, to_at)
                if total <= farthest and total < best.get(there, farthest + 1):
                    best[there] = total
                    came[there] = (state, at, arc)
                    heappush(heap, (total, to, to_at))
        return tuple(found)

    def _steps(
        self, heard: Sequence[str], state: int, at: int
    ) -> list[tuple[float, int, int, Arc | None]]:
        steps: list[tuple[float, int, int, Arc | None]] = []
        left = at < len(heard)
        for arc in self._arcs[state]:
            kind, what, to = arc
            if kind != "word":
                steps.append((0.0, to, at, arc))
                continue
            steps.append((lone_cost(what), to, at, arc))
            if left:
                steps.append((swap_cost(heard[at], what), to, at + 1, arc))
        if left:
            steps.append((lone_cost(heard[at]), state, at + 1, None))
        return steps

    def _trace(
        self,
        here: tuple[int, int],
        came: dict[tuple[int, int], tuple[int, int, Arc | None]],
        cost: float,
    ) -> Found:
        branch = self._ends[here[0]]
        arcs: list[Arc] = []
        while here in came:
            state, at, arc = came[here]
            if arc is not None:
                arcs.append(arc)
            here = (state, at)
        words: list[str] = []
        values: dict[str, str] = {}
        spans: dict[str, list[str]] = {}
        begun: list[int] = []
        for kind, what, _ in reversed(arcs):
            if kind == "word":
                words.append(what)
            elif kind == "open":
                begun.append(len(words))
            elif kind == "close":
                inside = words[begun.pop() :]
                for key, value in pairs(what).items():
                    values[key] = value
                    spans[key] = inside
        return Found(branch, tuple(words), values, spans, cost)
