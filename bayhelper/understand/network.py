"""A tree as a graph of words: no empty steps, equal ends shared, meanings kept beside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bayhelper.terms.errors import GrammarError
from bayhelper.understand.meaning import pairs
from bayhelper.understand.tree import Alt, Node, Opt, Ref, Repeat, Seq, Tagged, Word

Mark = tuple[bool, str]
"""A tag's text, and whether it begins (True) or ends here."""
Marks = tuple[Mark, ...]
Empty = tuple[Mark | None, int]
"""An empty step: the mark on it, if any, and where it leads."""


@dataclass(frozen=True)
class Arc:
    """One word between two states."""

    word: str
    """The word."""
    marks: Marks
    """Tags that begin or end before it."""
    to: int
    """State that follows."""
    kept: bool
    """Whether a meaning depends on this word (it is part of a number or of a table)."""


@dataclass(frozen=True)
class Graph:
    """States from 0, where every phrase begins."""

    arcs: tuple[tuple[Arc, ...], ...]
    """By state."""
    ends: tuple[tuple[Marks, ...], ...]
    """By state: the tags that end there, for each way in which a phrase is then complete."""
    tables: dict[str, dict[tuple[str, ...], str]]
    """By a made-up tag (it begins with a space, as none that was read does): what each phrase
    under it stands for."""


def build_graph(node: Node) -> Graph:
    """The graph of a tree. Raises GrammarError for one with references."""
    laid = _Laid()
    laid.end = laid.add(node, 0, kept=False)
    return _shared(laid)


class _Laid:
    """The tree laid out with empty steps."""

    def __init__(self) -> None:
        self.words: list[list[tuple[str, bool, int]]] = [[]]  # by state: word, kept, next state
        self.empty: list[list[Empty]] = [[]]  # by state
        self.end = 0  # the state where phrases end
        self.tables: dict[str, dict[tuple[str, ...], str]] = {}  # see Graph
        self._keys: dict[tuple[tuple[tuple[str, ...], str], ...], str] = {}  # equal tables share

    def state(self) -> int:
        self.words.append([])
        self.empty.append([])
        return len(self.words) - 1

    def add(self, node: Node, start: int, kept: bool) -> int:
        """Lay a node out from a state; gives a fresh state where it ends."""
        end = self.state()
        match node:
            case Word(text=text):
                self.words[start].append((text, kept, end))
            case Seq(items=items):
                at = start
                for item in items:
                    at = self.add(item, at, kept)
                self.empty[at].append((None, end))
            case Alt(options=options):
                self._choice(options, start, end, kept)
            case Opt(item=item):
                self.empty[start].append((None, end))
                self.empty[self.add(item, start, kept)].append((None, end))
            case Repeat(item=item, at_least=at_least):
                self._repeat(item, at_least, start, end, kept)
            case Tagged(item=item, tag=tag):
                number = "#" in pairs(tag).values()
                inside = self.state()
                self.empty[start].append(((True, tag), inside))
                last = self.add(item, inside, kept or number)
                self.empty[last].append(((False, tag), end))
            case Ref():
                raise GrammarError("A network is built from a tree without references.")
        return end

    def _choice(self, options: Sequence[Node], start: int, end: int, kept: bool) -> None:
        table = _table(options)
        if table is None:
            for option in options:
                self.empty[self.add(option, start, kept)].append((None, end))
            return
        tag = self._keys.setdefault(tuple(table.items()), f" {len(self._keys)}")
        self.tables[tag] = table
        root = self.state()
        self.empty[start].append(((True, tag), root))
        tails: dict[tuple[str, ...], int] = {(): root}
        for phrase in table:
            for count in range(1, len(phrase) + 1):
                if phrase[:count] not in tails:
                    to = tails[phrase[:count]] = self.state()
                    self.words[tails[phrase[: count - 1]]].append((phrase[count - 1], True, to))
            self.empty[tails[phrase]].append(((False, tag), end))

    def _repeat(self, item: Node, at_least: int, start: int, end: int, kept: bool) -> None:
        loop = self.state()
        self.empty[start].append((None, loop))
        back = self.add(item, loop, kept)
        self.empty[back] += [(None, loop), (None, end)]
        if at_least == 0:
            self.empty[loop].append((None, end))

    def ahead(self, state: int) -> list[tuple[Marks, int]]:
        """States that empty steps lead to, each with the marks on the way."""
        found: dict[tuple[Marks, int], None] = {((), state): None}
        ways: list[tuple[Marks, int, frozenset[int]]] = [((), state, frozenset({state}))]
        while ways:
            marks, here, passed = ways.pop()
            for mark, to in self.empty[here]:
                more = marks if mark is None else (*marks, mark)
                if to not in passed and (more, to) not in found:
                    found[(more, to)] = None
                    ways.append((more, to, passed | {to}))
        return list(found)


def _table(options: Sequence[Node]) -> dict[tuple[str, ...], str] | None:
    """Tags by words, when every option is a tagged plain phrase and no two are the same."""
    if len(options) < 4:
        return None
    table: dict[tuple[str, ...], str] = {}
    for option in options:
        if not isinstance(option, Tagged) or "#" in pairs(option.tag).values():
            return None
        words = plain(option.item)
        if not words or words in table:
            return None
        table[words] = option.tag
    return table


def plain(node: Node) -> tuple[str, ...] | None:
    """The words of a node that can be said in one way only and means nothing more, or None."""
    match node:
        case Word(text=text):
            return (text,)
        case Seq(items=items):
            parts = [plain(item) for item in items]
            if any(part is None for part in parts):
                return None
            return tuple(word for part in parts if part is not None for word in part)
        case _:
            return None


def _shared(laid: _Laid) -> Graph:
    """Without empty steps, and with one state for all that go on in the same way."""
    sharing = _Sharing(laid)
    waiting: list[tuple[int, bool]] = [(0, False)]
    begun: set[int] = set()
    while waiting:
        state, ready = waiting.pop()
        if ready:
            sharing.finish(state)
        elif state not in begun:
            begun.add(state)
            waiting.append((state, True))
            waiting += [(to, False) for to in sharing.after(state)]
    return Graph(tuple(sharing.arcs), tuple(sharing.ends), laid.tables)


class _Sharing:
    """Numbers the states that words lead to, those that come after a state before the state."""

    def __init__(self, laid: _Laid) -> None:
        self._laid = laid
        self.arcs: list[tuple[Arc, ...]] = [()]
        self.ends: list[tuple[Marks, ...]] = [()]
        self._numbers: dict[int, int] = {0: 0}
        self._known: dict[object, int] = {}

    def after(self, state: int) -> list[int]:
        """States that one word leads to."""
        return [to for _, via in self._laid.ahead(state) for _, _, to in self._laid.words[via]]

    def finish(self, state: int) -> None:
        """Give the state its arcs; a state that goes on like a known one becomes that one."""
        ahead = self._laid.ahead(state)
        arcs = tuple(
            Arc(word, marks, self._number(to), kept)
            for marks, via in ahead
            for word, kept, to in self._laid.words[via]
        )
        ends = tuple(marks for marks, via in ahead if via == self._laid.end)
        if state not in self._numbers:
            self._numbers[state] = self._known.setdefault((arcs, ends), len(self.arcs))
        number = self._number(state)
        self.arcs[number], self.ends[number] = arcs, ends

    def _number(self, state: int) -> int:
        """The state's number; a new place when it is not finished yet, as in a loop."""
        if self._numbers.setdefault(state, len(self.arcs)) == len(self.arcs):
            self.arcs.append(())
            self.ends.append(())
        return self._numbers[state]
