"""Grammars put together: imports and references led to their rules, and rules written out."""

from __future__ import annotations

from collections.abc import Mapping

from bayhelper.terms.errors import GrammarError
from bayhelper.understand import tree
from bayhelper.understand.tree import Alt, Grammar, Node, Opt, Ref, Repeat, Rule, Seq, Tagged


def resolve(grammars: Mapping[str, Grammar]) -> dict[str, Rule]:
    """Every rule of every grammar by full name, with its references made full names.

    Raises GrammarError for a reference or import that leads nowhere.
    """
    rules = {rule.name: rule for g in grammars.values() for rule in g.rules.values()}
    resolved: dict[str, Rule] = {}
    for grammar in grammars.values():
        visible = _visible(grammar, grammars)
        for rule in grammar.rules.values():
            node = _resolved(rule.node, visible, rules, grammar)
            resolved[rule.name] = Rule(rule.name, node, rule.public)
    return resolved


def _visible(grammar: Grammar, grammars: Mapping[str, Grammar]) -> dict[str, str]:
    visible: dict[str, str] = {}
    for wanted in grammar.imports:
        source, _, short = wanted.rpartition(".")
        if source not in grammars:
            raise GrammarError(
                f"{grammar.place(wanted)}: imports <{wanted}>, but there is no grammar '{source}' "
                f"among {', '.join(sorted(grammars))}. Add it, or correct the import."
            )
        for name, rule in grammars[source].rules.items():
            if rule.public and short in ("*", name):
                visible[name] = rule.name
        if short not in ("*", *visible):
            raise GrammarError(
                f"{grammar.place(wanted)}: <{wanted}> is no public rule of '{source}'. "
                "Put 'public' before it there, or correct the import."
            )
    visible.update({name: rule.name for name, rule in grammar.rules.items()})
    return visible


def _resolved(
    node: Node, visible: Mapping[str, str], rules: Mapping[str, Rule], grammar: Grammar
) -> Node:
    def led(ref: Ref) -> Node:
        full = visible.get(ref.name, ref.name)
        if full not in rules:
            raise GrammarError(
                f"{grammar.place(ref.name)}: <{ref.name}> is not defined there nor imported. "
                "Define it, or import the grammar that does."
            )
        return Ref(full)

    return tree.with_refs(node, led)


def inline(name: str, rules: Mapping[str, Rule], above: tuple[str, ...] = ()) -> Node:
    """The rule with every reference written out, and recursion at its end as a repetition.

    Right recursion, <a> = b <a> | c, is b* c (Arden, 'Delayed logic and finite state machines',
    1961). Raises GrammarError for a rule that holds itself anywhere else: no finite automaton
    accepts that, and JSGF forbids it (W3C Note of 5 June 2000, 'Recursion').
    """
    here = (*above, name)
    node = tree.with_refs(
        rules[name].node, lambda ref: ref if ref.name in here else inline(ref.name, rules, here)
    )
    if not _holds(node, name):
        return node
    again, otherwise = _ends(node, name)
    return Seq((Repeat(tree.alt(*again), 0), otherwise))


def _holds(node: Node, name: str) -> bool:
    match node:
        case Ref(name=other):
            return other == name
        case Seq(items=children) | Alt(options=children):
            return any(_holds(child, name) for child in children)
        case Opt(item=item) | Repeat(item=item) | Tagged(item=item):
            return _holds(item, name)
        case _:
            return False


def _ends(node: Node, name: str) -> tuple[list[Node], Node]:
    """What may come before the rule's own name at the end, and what may be said without it."""
    if not _holds(node, name):
        return [], node
    match node:
        case Ref():
            return [tree.NULL], tree.VOID
        case Alt(options=options):
            parts = [_ends(option, name) for option in options]
            return [a for again, _ in parts for a in again], tree.alt(*(o for _, o in parts))
        case Opt(item=item):
            again, otherwise = _ends(item, name)
            return again, Opt(otherwise)
        case Tagged(item=item, tag=tag):
            again, otherwise = _ends(item, name)
            return again, Tagged(otherwise, tag)
        case Seq(items=items) if not any(_holds(item, name) for item in items[:-1]):
            again, otherwise = _ends(items[-1], name)
            head = items[:-1]
            return [Seq((*head, a)) for a in again], Seq((*head, otherwise))
        case _:
            raise GrammarError(
                f"The rule <{name}> refers to itself before its end, which no recogniser can "
                "follow. Refer to it last, or write the repetition with * or +."
            )
