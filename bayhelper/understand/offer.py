"""Everything that may be said now: one tree for engines, sampling, help card and matcher."""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping, Sequence

from bayhelper.terms.body import Body
from bayhelper.terms.command import Command, Match
from bayhelper.terms.errors import GrammarError
from bayhelper.terms.scope import Dialect, Scope, Steering
from bayhelper.understand import tree
from bayhelper.understand.branch import Branch
from bayhelper.understand.jsgf import shared, written
from bayhelper.understand.linking import inline, resolve
from bayhelper.understand.matcher import FARTHEST, Found, find_among
from bayhelper.understand.meaning import command_of, slots_from
from bayhelper.understand.narrowing import named_panels, narrowed
from bayhelper.understand.numbers import spoken
from bayhelper.understand.reader import read_grammar
from bayhelper.understand.rivals import rivals
from bayhelper.understand.tree import Node, Opt, Word

Car = tuple[Body, Dialect, Steering]
"""What decides by which words panels are named."""
KEPT_OFFERS = 32
"""So many offers are kept before all are let go of (chosen, not measured)."""
KEPT_BRANCHES = 4096
"""So many branches: some sixty commands, each with dozens of sets of panels (chosen, not
measured)."""
NEAR_PER_WORD = 0.22
NEAR_AT_ALL = 0.6
"""A phrase that costs more than both, the first times the heard words, means nothing."""
TIE = 0.05
"""When two meanings cost within this of one another, neither is meant."""
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


class PhraseOffer:
    """What may be said, ready for engines and for matching; satisfies terms.ports.Offer."""

    def __init__(
        self,
        branches: Sequence[Branch],
        address: str = "",
        names: Mapping[tuple[str, ...], str] | None = None,
    ) -> None:
        self.branches = tuple(branches)
        self.address = address
        self._names = dict(names or {})
        self._address_words = tuple(address.lower().split())

    @property
    def dictation(self) -> bool:
        """Whether a note is being dictated; see terms.ports.Offer."""
        return any(branch.command == "end_note" for branch in self.branches)

    def jsgf(self, addressed: bool) -> str:
        """One self-contained grammar; see terms.ports.Offer."""
        names: Node = Opt(tree.alt(*(tree.seq(*map(Word, words)) for words in sorted(self._names))))
        lead = self._address_words if addressed else ()
        rules = {f"c{n}_{b.command or 'any'}": b.jsgf for n, b in enumerate(self.branches)}
        return written(lead, names if self._names else tree.NULL, rules)

    def rivals_jsgf(self, words: Sequence[str]) -> str:
        """What differs from a reading in one place and in meaning; see terms.ports.Offer."""
        if not all(branch.command for branch in self.branches):
            return ""  # nothing tells one meaning from another
        phrase = self._split_name(self.split_address(words)[1])[1]
        lead = tuple(words[: len(words) - len(phrase)])
        found = rivals(self.branches, phrase, self._meaning)
        rules = {}
        for (start, end), instead in sorted(found.items()):
            there = shared(sorted(instead)) if any(instead) else ""
            parts = (*phrase[:start], there, *phrase[end:])
            rules[f"r{start}_{end}"] = " ".join(filter(None, parts))
        return written(lead, tree.NULL, rules) if rules else ""

    def words(self) -> tuple[str, ...]:
        """Every word that may occur; see terms.ports.Offer."""
        own = (branch.words for branch in self.branches)
        return tuple(sorted(set(self._address_words).union(*self._names, *own)))

    def accepts(self, words: Sequence[str]) -> bool:
        """Whether the words, without the address phrase, are a phrase word for word."""
        return bool(self._find(words, farthest=0.0))

    def complete(self, words: Sequence[str]) -> bool:
        """Whether the words are a phrase word for word that no longer one begins with."""
        rest = self._split_name(self.split_address(words)[1])[1]
        goes_on = any(branch.network.goes_on(rest) for branch in self.branches)
        return not goes_on and self.accepts(rest)

    def split_address(self, words: Sequence[str]) -> tuple[bool, tuple[str, ...]]:
        """Whether the words begin with the address phrase, and the rest."""
        count = len(self._address_words)
        if count and tuple(words[:count]) == self._address_words:
            return True, tuple(words[count:])
        return False, tuple(words)

    def match(self, words: Sequence[str]) -> Match:
        """The nearest phrase; see terms.ports.Offer."""
        addressed, rest = self.split_address(words)
        name, rest = self._split_name(rest)
        found = self._find(rest) if rest else ()
        if not found:
            return Match(phrase="", command=None, edits=float("inf"), addressed=addressed)
        first = found[0]
        rival = found[1].cost if len(found) > 1 else float("inf")
        near = first.cost <= min(NEAR_PER_WORD * len(rest), 1.5) or first.cost <= NEAR_AT_ALL
        near = near and rival - first.cost >= TIE
        return Match(
            phrase=" ".join(first.words),
            command=self._command(first, name, rest) if near else None,
            edits=first.cost,
            addressed=addressed,
            rival_edits=rival,
        )

    def _split_name(self, words: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
        for spoken_name, name in self._names.items():
            if words[: len(spoken_name)] == spoken_name and len(words) > len(spoken_name):
                return name, words[len(spoken_name) :]
        return "", words

    def _find(self, words: Sequence[str], farthest: float = FARTHEST) -> tuple[Found, ...]:
        networks = [branch.network for branch in self.branches]
        return find_among(networks, words, self._meaning, farthest)

    def _meaning(self, found: Found) -> Hashable:
        """What tells one command from another; words themselves where there is no command."""
        name = self.branches[found.branch].command
        if not name:
            return found.words
        return name, tuple(sorted(slots_from(found.values, found.spans).items()))

    def _command(self, found: Found, name: str, words: tuple[str, ...]) -> Command | None:
        command = self.branches[found.branch].command
        if not command:
            return None
        slots = slots_from(found.values, found.spans)
        if name:
            slots["by"] = name
        return Command(command, slots, said=" ".join(words))


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
