"""What a test knows of a value and the program's own types leave open."""

from __future__ import annotations

from typing import TypeVar

T = TypeVar("T")


def known(value: T | None) -> T:
    """The value, which must be there."""
    assert value is not None, "expected a value, got None"
    return value


def known_as(kind: type[T], value: object) -> T:
    """The value, which must be of that class."""
    assert isinstance(value, kind), f"expected {kind.__name__}, got {value!r}"
    return value
