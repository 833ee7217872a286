"""Decisions as JSON and back, strictly: what is not known is refused, what is old is brought up."""

from __future__ import annotations

import json
from functools import cache

from bayhelper.plain.shapes import Shapes
from bayhelper.plain.values import written_instant
from bayhelper.plain.versions import Record, Upcasters
from bayhelper.remember.upcasters import STEPS
from bayhelper.terms import events as ev
from bayhelper.terms.body import Body
from bayhelper.terms.errors import PlainError, RecordError
from bayhelper.terms.plan import Plan
from bayhelper.terms.product import Product

CHANGED = "It was changed by hand, or written by another version."
"""What is behind fields that do not fit, as nothing here writes such."""


def event_types() -> dict[str, type[ev.Event]]:
    """Every kind of event by its name."""
    found: dict[str, type[ev.Event]] = {}
    waiting = list(ev.Event.__subclasses__())
    while waiting:
        kind = waiting.pop()
        found[kind.__name__] = kind
        waiting.extend(kind.__subclasses__())
    return dict(sorted(found.items()))


@cache
def _upcasters() -> Upcasters:
    """For events and for the sheets inside them. Raises PlainError for a gap in the table."""
    known = {name: kind.version for name, kind in event_types().items()}
    known |= {sheet.__name__: sheet.version for sheet in (Plan, Body, Product)}
    return Upcasters(known, STEPS)


@cache
def _shapes() -> Shapes:
    return Shapes(_upcasters())


def encode_event(event: ev.Event) -> Record:
    """One event as plain data, with its type and version, and those of the sheets inside."""
    return {"type": type(event).__name__, **_shapes().plain(event)}


def decode_event(content: Record) -> ev.Event:
    """One event from plain data of its own or an older version.

    Raises RecordError for what this version does not know.
    """
    fields = {key: value for key, value in content.items() if key not in ("type", "version")}
    try:
        name, fields = _upcasters().raised(str(content.get("type")), content.get("version"), fields)
        kind = event_types().get(name)
        if kind is None:
            raise RecordError(f"The record holds a {name} where an event must be. {CHANGED}")
        whole = fields | {"version": kind.version}
        where = f"The record's {name} does not have the fields it should"
        return _shapes().read(whole, kind, where, CHANGED)
    except PlainError as error:
        raise RecordError(str(error)) from error


def plain_decision(decision: ev.Decision) -> Record:
    """One decision as plain data."""
    return {
        "job": decision.job,
        "number": decision.number,
        "at_utc": written_instant(decision.at_utc),
        "cause": decision.cause,
        "command": decision.command,
        "slots": decision.slots,
        "events": [encode_event(event) for event in decision.events],
    }


def encode_decision(decision: ev.Decision) -> str:
    """One decision as one line of JSON."""
    return json.dumps(plain_decision(decision), ensure_ascii=False)


def decode_decision(line: str) -> ev.Decision:
    """One decision from its line. Raises RecordError when it is not one."""
    try:
        content = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise RecordError(f"A line of the record is no decision: {error}. {CHANGED}") from error
    events = content.get("events") if isinstance(content, dict) else None
    if not isinstance(events, list) or not all(isinstance(item, dict) for item in events):
        raise RecordError(f"A line of the record is no decision with a list of events. {CHANGED}")
    where = "A line of the record is no decision"
    try:
        fields = _shapes().read(content | {"events": []}, ev.Decision, where, CHANGED)
        decoded = tuple(map(decode_event, events))
    except PlainError as error:
        raise RecordError(str(error)) from error
    return ev.Decision(**(vars(fields) | {"events": decoded}))
