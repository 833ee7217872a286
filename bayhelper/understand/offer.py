"""Everything that may be said now: one tree for engines, sampling, help card and matcher."""

from __future__ import annotations

import re
from collections.abc import Mapping

from bayhelper.terms.body import Body
from bayhelper.terms.errors import GrammarError
from bayhelper.terms.scope import Dialect, Scope, Steering
from bayhelper.understand import tree
from bayhelper.understand.branch import Branch
from bayhelper.understand.linking import inline, resolve
from bayhelper.understand.meaning import command_of
from bayhelper.understand.narrowing import named_panels, narrowed
from bayhelper.understand.numbers import spoken
from bayhelper.understand.phrase_offer import PhraseOffer
from bayhelper.understand.reader import read_grammar
from bayhelper.understand.tree import Node

Car = tuple[Body, Dialect, Steering]
"""What decides by which words panels are named."""
KEPT_OFFERS = 32
"""So many offers are kept before all are let go of (chosen, not measured)."""
KEPT_BRANCHES = 4096
"""So many branches: some sixty commands, each with dozens of sets of panels (chosen, not
measured)."""
SIGNS = (
    (r"%", " percent "),
    (r"(\d)\s*(?:°|deg(?:rees)?)?\s*c\b", r"\1 degrees celsius "),
    (r"(\d)\s*(?:°|deg(?:rees)?)?\s*f\b", r"\1 degrees fahrenheit "),
    (r"°", " degrees "),
    (r"(\d)\s*(?:[u\u00b5\u03bc]m|micron|micrometres?|micrometers?)\b", r"\1 microns "),
    (r"(\d)\s*mil\b", r"\1 mils "),
)
"""How people type units, and how they say them."""


def plain_words(text: str) -> tuple[str, ...]:
    """Lower-case words of a typed or heard line; digits become words, signs their names."""
    text = text.lower()
    for sign, meant in SIGNS:
        text = re.sub(sign, meant, text)
    words: list[str] = []
    for token in re.findall(r"\d+(?:\.\d+)?|[^\W\d_]+(?:['’][^\W\d_]+)*", text):
        if token[0].isdigit():
            try:
                words += spoken(token)
            except GrammarError:
                words.append(token)
        else:
            words.append(token.replace("’", "'"))
    return tuple(words)


class Library:
    """The shipped grammars, read once."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        """`texts` maps file names to JSGF. Raises GrammarError when one is not usable."""
        grammars = {}
        for file, text in texts.items():
            grammar = read_grammar(text, file)
            grammars[grammar.name] = grammar
        self._rules = resolve(grammars)
        self._commands = {
            name: (command, inline(name, self._rules))
            for name, rule in self._rules.items()
            if (command := command_of(rule))
        }
        self._offers: dict[object, PhraseOffer] = {}
        self._narrowed: dict[Car, dict[object, Branch]] = {}

    @property
    def commands(self) -> frozenset[str]:
        """Every command that the grammars have a phrase for."""
        return frozenset(command for command, _ in self._commands.values())

    def named_panels(self, scope: Scope) -> frozenset[str]:
        """Panels of the scope's body that can be named; the others have no words."""
        return named_panels(inline("panels.panel", self._rules), scope)

    def offer(self, scope: Scope) -> PhraseOffer:
        """What the scope allows; offers are kept, since the same ones come again and again.

        They are kept by all that a scope holds, the whole body included: a sheet that was edited
        may keep its id and name, and each job hears the panels of its own copy.
        """
        key = (
            _car(scope),
            scope.address,
            scope.commands,
            tuple(sorted(scope.panels.items())),
            scope.technicians,
        )
        if key not in self._offers:
            if len(self._offers) >= KEPT_OFFERS:
                self._offers.clear()
            self._offers[key] = self._build(scope)
        return self._offers[key]

    def _build(self, scope: Scope) -> PhraseOffer:
        known = self._branches_of(_car(scope))
        branches_now = [
            _branch(known, rule, command, node, scope)
            for rule, (command, node) in self._commands.items()
            if scope.commands is None or command in scope.commands
        ]
        names = {plain_words(name): name for name in scope.technicians}
        sayable = [branch for branch in branches_now if not tree.is_void(branch.node)]
        return PhraseOffer(sayable, scope.address, names)

    def _branches_of(self, car: Car) -> dict[object, Branch]:
        """The branches that are kept for a car, by rule and panels."""
        if sum(map(len, self._narrowed.values())) >= KEPT_BRANCHES:
            self._narrowed.clear()
        return self._narrowed.setdefault(car, {})


def _car(scope: Scope) -> Car:
    return scope.body, scope.dialect, scope.steering


def _branch(
    known: dict[object, Branch], rule: str, command: str, node: Node, scope: Scope
) -> Branch:
    """One command in this scope; most of them stay the same from one offer to the next."""
    key = (rule, scope.panels.get(command))
    if key not in known:
        known[key] = Branch(command, narrowed(command, node, scope))
    return known[key]


def offer_of_grammar(text: str, file: str) -> PhraseOffer:
    """Any JSGF text by itself: its public rules may be said; there are no commands in it.

    Raises GrammarError.
    """
    grammar = read_grammar(text, file)
    rules = resolve({grammar.name: grammar})
    public = [rule.name for rule in rules.values() if rule.public]
    if not public:
        raise GrammarError(f"{file}: no rule is public. Put 'public' before the one to be spoken.")
    return PhraseOffer([Branch("", inline(name, rules)) for name in public])
