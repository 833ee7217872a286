"""Writes a tree as one self-contained JSGF grammar, without tags and with few words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bayhelper.understand.tree import Alt, Node, Opt, Repeat, Seq, Tagged, Word


def written(lead: Sequence[str], names: Node, rules: Mapping[str, str]) -> str:
    """JSGF: the leading words, perhaps a name, then one of the rules (their right sides)."""
    head = " ".join(lead)
    name = text_of(names)
    choice = " | ".join(f"<{rule}>" for rule in rules)
    lines = ["#JSGF V1.0;", "grammar offer;", f"public <offer> = {head} {name} ({choice});"]
    lines += [f"<{rule}> = {text};" for rule, text in rules.items()]
    return "\n".join(lines) + "\n"


def text_of(node: Node) -> str:
    """The right side of a rule."""
    match node:
        case Word(text=text):
            return text
        case Seq(items=items):
            return " ".join(filter(None, (text_of(item) for item in items)))
        case Alt(options=options, weights=weights):
            return _choice(options, weights)
        case Opt(item=item):
            inner = text_of(item)
            return f"[{inner}]" if inner else ""
        case Repeat(item=item, at_least=at_least):
            return f"({text_of(item)}){'+' if at_least else '*'}"
        case Tagged(item=item):
            return text_of(item)
        case _:
            return ""


def _choice(options: Sequence[Node], weights: Sequence[float]) -> str:
    phrases = [_phrase(option) for option in options]
    if len(options) > 3 and all(phrase is not None for phrase in phrases):
        return shared([phrase for phrase in phrases if phrase is not None])
    if weights:
        parts = [f"/{w}/ {text_of(o)}" for w, o in zip(weights, options, strict=True)]
    else:
        parts = list(dict.fromkeys(text_of(option) for option in options))
    return f"({' | '.join(part or '<NULL>' for part in parts)})"


def _phrase(node: Node) -> tuple[str, ...] | None:
    """The words of a node that can be said in one way only, or None."""
    match node:
        case Word(text=text):
            return (text,)
        case Tagged(item=item):
            return _phrase(item)
        case Seq(items=items):
            parts = [_phrase(item) for item in items]
            if any(part is None for part in parts):
                return None
            return tuple(word for part in parts if part is not None for word in part)
        case _:
            return None


def shared(phrases: Sequence[tuple[str, ...]]) -> str:
    """A choice of phrases in which common beginnings with the same rest are written once."""
    rests: dict[str, list[tuple[str, ...]]] = {}
    ends = False
    for phrase in phrases:
        if phrase:
            rests.setdefault(phrase[0], []).append(phrase[1:])
        else:
            ends = True
    groups: dict[str, list[str]] = {}
    for word, rest in rests.items():
        groups.setdefault("" if rest == [()] else shared(rest), []).append(word)
    parts = []
    for rest_text, words in groups.items():
        lead = words[0] if len(words) == 1 else f"({' | '.join(words)})"
        parts.append(f"{lead} {rest_text}".strip())
    body = parts[0] if len(parts) == 1 else f"({' | '.join(parts)})"
    return f"[{body}]" if ends else body
