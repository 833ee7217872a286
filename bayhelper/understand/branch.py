"""One command's part of what may be said, with what is worked out from it once and kept."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bayhelper.understand import tree
from bayhelper.understand.jsgf import text_of
from bayhelper.understand.matcher import PhraseNetwork
from bayhelper.understand.tree import Node


@dataclass(frozen=True, eq=False)
class Branch:
    """A rule of the grammars, narrowed to one scope."""

    command: str
    """Name of the command; empty where a grammar has none."""
    node: Node
    """What may be said."""

    @cached_property
    def network(self) -> PhraseNetwork:
        """Made ready for matching."""
        return PhraseNetwork(self.node)

    @cached_property
    def jsgf(self) -> str:
        """As the right side of a JSGF rule."""
        return text_of(self.node)

    @cached_property
    def words(self) -> frozenset[str]:
        """Every word that may occur."""
        return frozenset(tree.words_of(self.node))
