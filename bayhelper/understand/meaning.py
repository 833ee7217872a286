"""From the tags along a phrase to a command with slots."""

from __future__ import annotations

from bayhelper.terms.body import Body
from bayhelper.terms.command import SlotValue
from bayhelper.terms.errors import GrammarError
from bayhelper.terms.scope import Steering
from bayhelper.terms.slots import SLOTS
from bayhelper.understand.numbers import digits, number
from bayhelper.understand.tree import Alt, Node, Opt, Rule, Seq, Tagged, Word

UM_PER_MIL = 25.4
"""Exact: the international inch is 25.4 mm."""


def pairs(tag: str) -> dict[str, str]:
    """'key=value key=value' as a mapping; other tags mean nothing here."""
    found = (item.partition("=") for item in tag.split())
    return {key: value for key, equals, value in found if equals}


def command_of(rule: Rule) -> str:
    """The command that a rule stands for; '' for a part of others."""
    return pairs(rule.node.tag).get("command", "") if isinstance(rule.node, Tagged) else ""


def panel_of(body: Body, steering: Steering, tags: dict[str, str]) -> str:
    """Id of the panel that part and side name on this car; '' when it has none."""
    side = tags.get("side", "")
    near = "left" if steering == "right" else "right"
    far = "right" if near == "left" else "left"
    side = {"near": near, "off": far, "passenger": near, "driver": far}.get(side, side)
    panel_id = f"{side}_{tags['part']}" if side else tags["part"]
    panel = body.panel(panel_id)
    if panel is None or (tags.get("half") and tags["half"] not in panel.halves):
        return ""
    return panel_id


def slots_from(values: dict[str, str], spans: dict[str, list[str]]) -> dict[str, SlotValue]:
    """Typed slots.

    `values` holds tag values; `spans` the words under each key whose value is '#', a number, or
    for a slot of text a row of digits.
    Raises GrammarError for a tag that is no slot.
    """
    slots: dict[str, SlotValue] = {}
    for key, value in values.items():
        if key in ("command", "part", "side", "dialect"):
            continue
        if value == "#" and key in SLOTS and SLOTS[key].kind is str:
            slots[key] = digits(spans[key])
            continue
        amount = number(spans[key]) if value == "#" else 0.0
        if key == "temp_f":
            slots["temp_c"] = round((amount - 32) / 1.8, 1)
        elif key == "film_mil":
            slots["film_um"] = round(amount * UM_PER_MIL, 2)
        elif key not in SLOTS:
            raise GrammarError(f"The tag '{key}' is no slot of the catalogue: {', '.join(SLOTS)}.")
        elif value == "#":
            slots[key] = amount
        elif SLOTS[key].kind is bool:
            slots[key] = value == "true"
        else:
            slots[key] = SLOTS[key].kind(value)
    return slots


def expansions(node: Node) -> list[tuple[tuple[str, ...], dict[str, str]]]:
    """Every way to say a finite node, with the tags along it.

    Raises GrammarError for a node that repeats without end.
    """
    match node:
        case Word(text=text):
            return [((text,), {})]
        case Seq(items=items):
            ways: list[tuple[tuple[str, ...], dict[str, str]]] = [((), {})]
            for item in items:
                ways = [(w + v, t | u) for w, t in ways for v, u in expansions(item)]
            return ways
        case Alt(options=options):
            return [way for option in options for way in expansions(option)]
        case Opt(item=item):
            return [((), {}), *expansions(item)]
        case Tagged(item=item, tag=tag):
            return [(words, tags | pairs(tag)) for words, tags in expansions(item)]
        case _:
            raise GrammarError("Only finite rules can name a panel; this one repeats.")
