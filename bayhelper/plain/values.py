"""Single plain values: what is taken for a text, a number, a choice or an instant, and no more."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import get_args

from bayhelper.plain.words import shown, wanted_words
from bayhelper.terms.errors import PlainError

Hook = Callable[[object, object], object]
"""As cattrs calls it: the plain value and the type that is wanted."""
SCALARS = (str, int, float, bool)
"""Types that TOML and JSON have as well."""


class MisfitError(PlainError):
    """A plain value is not what its field asks for."""

    def __init__(self, wanted: str, came: object, told: str = "") -> None:
        super().__init__(told or f"must be {wanted}, not {shown(came)}")
        self.came = came
        self.told = told


def written_instant(value: datetime) -> str:
    """An instant as text by RFC 3339, in UTC."""
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


def read_instant(value: object, kind: object) -> datetime:
    """An instant in UTC from a text with its offset. Raises MisfitError."""
    try:
        instant = datetime.fromisoformat(value) if isinstance(value, str) else None
        if instant is not None and instant.tzinfo is not None:
            return instant.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise MisfitError(wanted_words(kind), value) from error
    raise MisfitError(wanted_words(kind), value)


def read_scalar(kind: type) -> Hook:
    """Takes values of that type alone, but for whole numbers where any number will do."""

    def structure(value: object, _: object) -> object:
        fits = isinstance(value, kind) or (kind is float and isinstance(value, int))
        if not fits or (isinstance(value, bool) and kind is not bool):
            raise MisfitError(wanted_words(kind), value)
        try:
            return kind(value)
        except OverflowError as error:
            raise MisfitError("a number that is not as huge as this", value) from error

    return structure


def read_any_scalar(value: object, kind: object) -> object:
    """A value of one of several types, as it is. Raises MisfitError."""
    if type(value) not in get_args(kind):
        raise MisfitError(wanted_words(kind), value)
    return value


def read_choice(value: object, kind: object) -> object:
    """A value of a Literal. Raises MisfitError."""
    if not any(type(value) is type(part) and value == part for part in get_args(kind)):
        raise MisfitError(wanted_words(kind), value)
    return value
