"""A command's tree with the panels, halves and seams of this car, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from bayhelper.terms.scope import Scope
from bayhelper.understand import tree
from bayhelper.understand.meaning import expansions, pairs, panel_of
from bayhelper.understand.tree import Alt, Node, Opt, Repeat, Seq, Tagged, Word

Allowed = Mapping[str, frozenset[str]]
"""Panels (and halves, as 'bonnet/left') by the slot that names them; others take any."""


def narrowed(command: str, node: Node, scope: Scope) -> Node:
    """The tree of what may be said of a command in this scope; void when nothing may."""
    allowed: Allowed = {}
    if command in scope.panels:
        allowed = {"panel": scope.panels[command]}
    if not _has_slot(node, "neighbour"):
        return pruned(_named(node, scope, allowed))
    options: list[Node] = []
    for panel in scope.body.panels:
        if panel.id not in allowed.get("panel", {panel.id}):
            continue
        seams = scope.body.seams_of(panel.id)
        across = frozenset(s.b if s.a == panel.id else s.a for s in seams)
        of_panel: Allowed = {"panel": frozenset({panel.id}), "neighbour": across}
        options.append(pruned(_named(node, scope, of_panel)))
    return pruned(Alt(tuple(options)))


def _has_slot(node: Node, slot: str) -> bool:
    match node:
        case Tagged(item=item, tag=tag):
            return slot in pairs(tag) or _has_slot(item, slot)
        case Seq(items=children) | Alt(options=children):
            return any(_has_slot(child, slot) for child in children)
        case Opt(item=item) | Repeat(item=item):
            return _has_slot(item, slot)
        case _:
            return False


def _named(node: Node, scope: Scope, allowed: Allowed) -> Node:
    """The tree with each way of naming a panel that this scope knows, and no other."""

    def down(child: Node) -> Node:
        return _named(child, scope, allowed)

    match node:
        case Tagged(item=item, tag=tag):
            for key, value in pairs(tag).items():
                if value == "@":
                    return _panel_choice(item, key, scope, allowed.get(key))
            return Tagged(down(item), tag)
        case Seq(items=items):
            return Seq(tuple(down(item) for item in items))
        case Alt(options=options, weights=weights):
            return Alt(tuple(down(option) for option in options), weights)
        case Opt(item=item):
            return Opt(down(item))
        case Repeat(item=item, at_least=at_least):
            return Repeat(down(item), at_least)
        case _:
            return node


def _panel_choice(item: Node, key: str, scope: Scope, panels: frozenset[str] | None) -> Node:
    options = []
    for words, tags in _expansions(item):
        if tags.get("dialect", scope.dialect) != scope.dialect:
            continue
        panel = panel_of(scope.body, scope.steering, tags)
        part = f"{panel}/{tags['half']}" if "half" in tags else panel
        if panel and (panels is None or part in panels):
            half = f" half={tags['half']}" if "half" in tags else ""
            options.append(Tagged(tree.seq(*map(Word, words)), f"{key}={panel}{half}"))
    return Alt(tuple(options))


def named_panels(item: Node, scope: Scope) -> frozenset[str]:
    """Panels of the scope's body that this way of naming panels has words for."""
    fitting = (
        tags for _, tags in _expansions(item) if tags.get("dialect", scope.dialect) == scope.dialect
    )
    return frozenset(panel_of(scope.body, scope.steering, tags) for tags in fitting) - {""}


@lru_cache(maxsize=64)
def _expansions(item: Node) -> list[tuple[tuple[str, ...], dict[str, str]]]:
    """Kept, since the same few ways of naming a panel come in every command."""
    return expansions(item)


def pruned(node: Node) -> Node:
    """The tree without options that cannot be said."""
    match node:
        case Seq(items=items):
            return Seq(tuple(pruned(item) for item in items))
        case Alt(options=options, weights=weights):
            kept = [n for n, option in enumerate(options) if not tree.is_void(pruned(option))]
            return Alt(
                tuple(pruned(options[n]) for n in kept),
                tuple(weights[n] for n in kept) if weights else (),
            )
        case Opt(item=item):
            inner = pruned(item)
            return tree.NULL if tree.is_void(inner) else Opt(inner)
        case Tagged(item=item, tag=tag):
            return Tagged(pruned(item), tag)
        case _:
            return node
