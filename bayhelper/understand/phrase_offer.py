"""What may be said now, ready for engines and for matching."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence

from bayhelper.terms.command import Command, Match
from bayhelper.understand import tree
from bayhelper.understand.branch import Branch
from bayhelper.understand.jsgf import shared, written
from bayhelper.understand.matcher import FARTHEST, Found, find_among
from bayhelper.understand.meaning import slots_from
from bayhelper.understand.rivals import rivals
from bayhelper.understand.tree import Node, Opt, Word

NEAR_PER_WORD = 0.22
"""Cost a heard word up to which a phrase is meant, but never above MOST_NEAR: of five words
one may be missing (chosen by trying, not measured)."""
MOST_NEAR = 1.5
"""Highest cost of a phrase that is meant: less than that of a changed figure, so that none is
changed."""
NEAR_AT_ALL = 0.6
"""Cost up to which a phrase is meant however few the words: two small ones astray, or one word
spelt a little differently (chosen by trying, not measured)."""
TIE = 0.05
"""When two meanings cost within this of one another, neither is meant: a fifth of the cheapest
fault (chosen)."""


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
        near = first.cost <= min(NEAR_PER_WORD * len(rest), MOST_NEAR) or first.cost <= NEAR_AT_ALL
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
