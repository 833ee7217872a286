"""Our values as what JSON can hold."""

from __future__ import annotations

from datetime import datetime


def jsonable(value: object) -> object:
    """Times as RFC 3339 in UTC, and all else as it is, however deep it lies."""
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, dict):
        return {key: jsonable(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [jsonable(item) for item in value]
    return value
