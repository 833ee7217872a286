"""Decisions as JSON and back, strictly: unknown types, fields and versions are refused."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from functools import cache
from typing import Any

from cattrs import Converter
from cattrs.errors import BaseValidationError

from bayhelper.terms import events as ev
from bayhelper.terms.command import SlotValue
from bayhelper.terms.errors import RecordError


def event_types() -> dict[str, type[ev.Event]]:
    """Every kind of event by its name."""
    found: dict[str, type[ev.Event]] = {}
    waiting = list(ev.Event.__subclasses__())
    while waiting:
        kind = waiting.pop()
        found[kind.__name__] = kind
        waiting.extend(kind.__subclasses__())
    return dict(sorted(found.items()))


def _exactly(kind: type) -> Any:
    def structure(value: Any, _: Any) -> Any:
        fits = isinstance(value, kind) or (kind is float and isinstance(value, int))
        if not fits or (isinstance(value, bool) and kind is not bool):
            raise RecordError(f"expected {kind.__name__}, got {value!r}")
        return kind(value)

    return structure


@cache
def _converter() -> Converter:
    converter = Converter(forbid_extra_keys=True)
    for kind in (str, int, float, bool):
        converter.register_structure_hook(kind, _exactly(kind))
    converter.register_unstructure_hook(datetime, _write_instant)
    converter.register_structure_hook(datetime, lambda value, _: _read_instant(value))
    converter.register_structure_hook_func(
        lambda kind: kind == SlotValue, lambda value, _: _slot(value)
    )
    return converter


def _slot(value: Any) -> Any:
    if not isinstance(value, str | int | float | bool):
        raise RecordError(f"a slot holds text, a number or true, not {value!r}")
    return value


def _write_instant(value: datetime) -> str:
    """RFC 3339, UTC."""
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _read_instant(value: Any) -> datetime:
    if not isinstance(value, str):
        raise RecordError(f"expected an RFC 3339 time, got {value!r}")
    instant = datetime.fromisoformat(value)
    if instant.tzinfo is None:
        raise RecordError(f"a time without an offset: {value!r}")
    return instant.astimezone(UTC)


def encode_event(event: ev.Event) -> dict[str, Any]:
    """One event as plain data, with its type and version."""
    content: dict[str, Any] = _converter().unstructure(event)
    return {"type": type(event).__name__, "version": event.version, **content}


def decode_event(content: dict[str, Any]) -> ev.Event:
    """One event from plain data. Raises RecordError for what this version does not know."""
    name, version = content.get("type"), content.get("version")
    kind = event_types().get(str(name))
    if kind is None:
        raise RecordError(
            f"The record holds an event of the type {name!r}, which this version does not know. "
            "Use the version of bayhelper that wrote it, or a newer one."
        )
    if version != kind.version:
        raise RecordError(
            f"The record holds {name} in version {version!r}; this program knows {kind.version}. "
            "Use the version of bayhelper that wrote it, or a newer one."
        )
    fields = {key: value for key, value in content.items() if key not in ("type", "version")}
    try:
        return _converter().structure(fields, kind)
    except (BaseValidationError, RecordError, ValueError, TypeError, KeyError) as error:
        raise RecordError(
            f"The record's {name} does not have the fields it should: {_reasons(error)}. "
            "It was changed by hand, or written by another version."
        ) from error


def _reasons(error: BaseException) -> str:
    if isinstance(error, BaseExceptionGroup):
        return "; ".join(_reasons(inner) for inner in error.exceptions)
    return f"{type(error).__name__}: {error}"


def plain_decision(decision: ev.Decision) -> dict[str, Any]:
    """One decision as plain data."""
    return {
        "job": decision.job,
        "number": decision.number,
        "at_utc": _write_instant(decision.at_utc),
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
        events = tuple(decode_event(item) for item in content.pop("events"))
        fields = _converter().structure(content | {"events": []}, ev.Decision)
    except (json.JSONDecodeError, KeyError, AttributeError, TypeError) as error:
        raise RecordError(f"A line of the record is no decision: {error!r}.") from error
    except (BaseValidationError, RecordError, ValueError) as error:
        raise RecordError(f"A line of the record is no decision: {_reasons(error)}.") from error
    return ev.Decision(**(vars(fields) | {"events": events}))
