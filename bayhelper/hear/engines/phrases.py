"""Whole phrases that together use every step of a grammar, for engines that take lists.

An engine that makes a bigram of a list needs each pair of neighbouring words once, with true
beginnings and ends. The grammar is laid out as the automaton of its word positions (Glushkov,
'The abstract theory of automata', 1961), and each pair of words not yet used adds the shortest
phrase through it.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

from bayhelper.terms.errors import HearingError

TOKEN = re.compile(r"\{[^}]*\}|/[^/]*/|<[^>]+>|[()\[\]|*+]|[^\s()\[\]|*+<>{}/]+")
"""A tag, weight, rule name, sign or word of JSGF (Java Speech Grammar Format 1.0)."""
RULE = re.compile(r"(public\s+)?<([^>]+)>\s*=\s*([^;]*);")
"""A rule of a flattened grammar: whether it is public, its name, what it says."""
NULL, VOID = "<NULL>", "<VOID>"
"""JSGF's own rules for what is said by saying nothing, and for what cannot be said."""
BEGIN, END = -1, -2
"""Positions before the first word and behind the last; words have positions from 0."""


@dataclass
class _Part:
    """What may begin and end a part of the grammar, and whether it may be left out."""

    first: set[int] = field(default_factory=set)
    last: set[int] = field(default_factory=set)
    empty: bool = True


class Layout:
    """Reads a flattened grammar into word positions and the steps between them."""

    def __init__(self, jsgf: str, known: Callable[[str], bool]) -> None:
        self._known = known
        found = RULE.findall(jsgf)
        self._rules = {name: TOKEN.findall(body) for _, name, body in found}
        public = [name for lead, name, _ in found if lead]
        if not public:
            raise HearingError("A grammar came without a public rule; say which one is spoken.")
        self.words: list[str] = []
        self.steps: dict[int, set[int]] = {BEGIN: set()}
        self._inside: list[str] = []
        for name in public:
            part = self._rule(name)
            self.steps[BEGIN] |= part.first
            self._join(part.last, {END})

    def _join(self, lasts: set[int], firsts: set[int]) -> None:
        for last in lasts:
            self.steps.setdefault(last, set()).update(firsts)

    def _rule(self, name: str) -> _Part:
        if name in self._inside or name not in self._rules:
            raise HearingError(
                f"Rule <{name}> of a grammar is missing or holds itself; a list of phrases "
                "needs a grammar in which every rule ends."
            )
        self._inside.append(name)
        tokens = deque(self._rules[name])
        part = self._choice(tokens)
        if tokens:
            raise HearingError(f"Rule <{name}> of a grammar has a {tokens[0]!r} too many.")
        self._inside.pop()
        return part

    def _choice(self, tokens: deque[str]) -> _Part:
        whole = _Part(empty=False)
        while True:
            part = self._sequence(tokens)
            if part is not None:
                whole.first |= part.first
                whole.last |= part.last
                whole.empty |= part.empty
            if not tokens or tokens[0] != "|":
                return whole
            tokens.popleft()

    def _sequence(self, tokens: deque[str]) -> _Part | None:
        """One option of a choice; None when it cannot be said."""
        whole, sayable = _Part(), True
        while tokens and tokens[0] not in ")]|":
            token = tokens.popleft()
            if token[0] in "{/" or token == NULL:
                continue
            if token == VOID:
                sayable = False
                continue
            part = self._item(token, tokens)
            while tokens and tokens[0] in "*+":
                self._join(part.last, part.first)
                part.empty |= tokens.popleft() == "*"
            self._join(whole.last, part.first)
            whole.first |= part.first if whole.empty else set()
            whole.last = part.last | (whole.last if part.empty else set())
            whole.empty &= part.empty
        return whole if sayable else None

    def _item(self, token: str, tokens: deque[str]) -> _Part:
        if token in "([":
            part = self._choice(tokens)
            if not tokens or tokens.popleft() != {"(": ")", "[": "]"}[token]:
                raise HearingError(f"A {token!r} of a grammar is never closed.")
            part.empty |= token == "["
            return part
        if token[0] == "<":
            return self._rule(token[1:-1])
        if not self._known(token):
            return _Part(empty=False)
        self.words.append(token)
        at = len(self.words) - 1
        return _Part({at}, {at}, empty=False)


def covering_phrases(
    jsgf: str, known: Callable[[str], bool] = lambda word: True
) -> tuple[str, ...]:
    """Phrases, sorted, that together use every pair of neighbouring words of a flattened grammar.

    Phrases with a word that is not `known` are left out whole, never shortened. Raises
    HearingError when the grammar cannot be laid out, or nothing can be said under it.
    """
    layout = Layout(jsgf, known)
    before = _nearest(layout.steps, BEGIN)
    back: dict[int, set[int]] = {}
    for here, onward in layout.steps.items():
        for there in onward:
            back.setdefault(there, set()).add(here)
    after = _nearest(back, END)
    names = dict(enumerate(layout.words)) | {BEGIN: "", END: ""}
    used: set[tuple[str, str]] = set()
    phrases = set()
    for here in sorted(before):
        for there in sorted(layout.steps.get(here, ())):
            if there not in after or (names[here], names[there]) in used:
                continue
            path = [*before[here], here, there, *reversed(after[there])]
            said = [names[at] for at in path]
            used.update(pairwise(said))
            phrases.add(" ".join(filter(None, said)))
    phrases.discard("")
    if not phrases:
        raise HearingError(
            "Nothing can be said under this grammar with the words that the engine knows. Ask "
            "missing_words which it lacks, and use another model or other words."
        )
    return tuple(sorted(phrases))


def _nearest(steps: dict[int, set[int]], start: int) -> dict[int, list[int]]:
    """The shortest way from `start` to every position that can be reached, itself left out."""
    ways: dict[int, list[int]] = {start: []}
    queue = deque([start])
    while queue:
        here = queue.popleft()
        for there in sorted(steps.get(here, ())):
            if there not in ways:
                ways[there] = [*ways[here], here]
                queue.append(there)
    return ways
