"""The nodes of a grammar, one a construct; reader, engines, sampler and matcher share them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Word:
    """One spoken word, lower case."""

    text: str
    """The word."""


@dataclass(frozen=True)
class Seq:
    """Items one after the other; no items: silence (`<NULL>`)."""

    items: tuple[Node, ...] = ()
    """In order."""


@dataclass(frozen=True)
class Alt:
    """One of several; no options: nothing can be said (`<VOID>`)."""

    options: tuple[Node, ...] = ()
    """In order."""
    weights: tuple[float, ...] = ()
    """Relative likelihoods, or empty for none."""


@dataclass(frozen=True)
class Opt:
    """The item or nothing."""

    item: Node
    """What may be left out."""


@dataclass(frozen=True)
class Repeat:
    """The item again and again."""

    item: Node
    """What is repeated."""
    at_least: int
    """0 or 1."""


@dataclass(frozen=True)
class Ref:
    """Another rule, by its full name ('panels.panel') once resolved."""

    name: str
    """Name."""


@dataclass(frozen=True)
class Tagged:
    """An item that means something."""

    item: Node
    """What is said."""
    tag: str
    """The text between the braces."""


Node = Word | Seq | Alt | Opt | Repeat | Ref | Tagged
NULL = Seq()
"""Nothing is said: `<NULL>` of the format."""
VOID = Alt()
"""Nothing can be said: `<VOID>` of the format."""


@dataclass(frozen=True)
class Rule:
    """A rule of a grammar file: a name, and what may be said under it."""

    name: str
    """Full name, 'grammar.rule'."""
    node: Node
    """What it stands for."""
    public: bool
    """Whether it may be spoken by itself."""


@dataclass(frozen=True)
class Grammar:
    """One JSGF file, read."""

    name: str
    """From its `grammar` line."""
    rules: dict[str, Rule] = field(default_factory=dict)
    """By short name, in order."""
    imports: tuple[str, ...] = ()
    """Full names, or 'grammar.*'."""
    file: str = ""
    """Where it came from, for messages."""
    places: dict[str, tuple[int, int]] = field(default_factory=dict)
    """Line and column, from 1, where each rule name first stands."""

    def place(self, name: str) -> str:
        """File, line and column of a rule's name, for messages."""
        line, column = self.places.get(name, (1, 1))
        return f"{self.file}, line {line}, column {column}"


def seq(*items: Node) -> Node:
    """A sequence without needless nesting."""
    return items[0] if len(items) == 1 else Seq(tuple(items))


def alt(*options: Node) -> Node:
    """A choice without needless nesting."""
    return options[0] if len(options) == 1 else Alt(tuple(options))


def with_refs(node: Node, led: Callable[[Ref], Node]) -> Node:
    """The node with each reference replaced by what `led` gives for it."""
    match node:
        case Ref():
            return led(node)
        case Seq(items=items):
            return Seq(tuple(with_refs(item, led) for item in items))
        case Alt(options=options, weights=weights):
            return Alt(tuple(with_refs(option, led) for option in options), weights)
        case Opt(item=item):
            return Opt(with_refs(item, led))
        case Repeat(item=item, at_least=at_least):
            return Repeat(with_refs(item, led), at_least)
        case Tagged(item=item, tag=tag):
            return Tagged(with_refs(item, led), tag)
        case Word():
            return node


def is_void(node: Node) -> bool:
    """Whether nothing can be said by way of this node."""
    match node:
        case Alt(options=options):
            return all(is_void(option) for option in options)
        case Seq(items=items):
            return any(is_void(item) for item in items)
        case Repeat(item=item, at_least=at_least):
            return at_least > 0 and is_void(item)
        case Tagged(item=item):
            return is_void(item)
        case _:
            return False


def words_of(node: Node) -> set[str]:
    """Every word in a node without references."""
    match node:
        case Word(text=text):
            return {text}
        case Seq(items=children) | Alt(options=children):
            return set().union(*(words_of(child) for child in children))
        case Opt(item=item) | Repeat(item=item) | Tagged(item=item):
            return words_of(item)
        case _:
            return set()


def first_words(node: Node) -> tuple[frozenset[str], bool]:
    """Words that what is said may begin with, and whether it may be nothing at all."""
    match node:
        case Word(text=text):
            return frozenset({text}), False
        case Seq(items=items):
            found: frozenset[str] = frozenset()
            for item in items:
                begins, empty = first_words(item)
                found |= begins
                if not empty:
                    return found, False
            return found, True
        case Alt(options=options):
            each = [first_words(option) for option in options]
            return frozenset().union(*(words for words, _ in each)), any(e for _, e in each)
        case Opt(item=item):
            return first_words(item)[0], True
        case Repeat(item=item, at_least=at_least):
            begins, empty = first_words(item)
            return begins, empty or not at_least
        case Tagged(item=item):
            return first_words(item)
        case _:
            return frozenset(), True
