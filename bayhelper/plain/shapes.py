"""The one door of cattrs: plain data into frozen dataclasses and back, by strict rules.

A key that no field has, a value of another type and a missing field are refused, and nothing is
turned into something else on the way, but for a whole number where any number will do. What cattrs
reports comes out as a sentence for each fault: where it is, what was expected and what came.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from typing import Any, ClassVar, Literal, Protocol, TypeVar, get_args, get_origin

from cattrs import Converter
from cattrs.errors import (
    AttributeValidationNote,
    BaseValidationError,
    ForbiddenExtraKeysError,
    IterableValidationError,
    IterableValidationNote,
)
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn

from bayhelper.plain.values import (
    SCALARS,
    Hook,
    MisfitError,
    read_any_scalar,
    read_choice,
    read_instant,
    read_scalar,
    written_instant,
)
from bayhelper.plain.versions import Record, Upcasters
from bayhelper.plain.words import Way, is_union, place_words, shown, table_words, wanted_words
from bayhelper.terms.errors import PlainError

T = TypeVar("T")
"""Type of what plain data are read as."""
MOST_TOLD = 3
"""So many faults are told at once; more would hide the first (chosen by eye)."""


class Versioned(Protocol):
    """A dataclass whose form on disk is numbered."""

    version: ClassVar[int]


class Shapes:
    """Reads and writes frozen dataclasses; with upcasters, those with a version carry it."""

    def __init__(self, upcasters: Upcasters | None = None) -> None:
        self._upcasters = upcasters
        self._converter = converter = Converter()
        for kind in SCALARS:
            converter.register_structure_hook(kind, read_scalar(kind))
        converter.register_structure_hook(datetime, read_instant)
        converter.register_unstructure_hook(datetime, written_instant)
        converter.register_structure_hook_func(_is_scalar_union, read_any_scalar)
        converter.register_structure_hook_func(_is_literal, read_choice)
        converter.register_structure_hook_func(_is_tuple, self._list)
        converter.register_structure_hook_func(_is_dict, self._table)
        converter.register_structure_hook_factory(is_dataclass, self._fields_reader)
        if upcasters is not None:
            converter.register_unstructure_hook_factory(_has_version, self._fields_writer)

    def read(
        self,
        content: object,
        kind: type[T],
        where: str,
        then: str,
        wanted: Mapping[str, str] | None = None,
    ) -> T:
        """Plain data as a value of a dataclass or of another type.

        Raises PlainError with a sentence for each of the first faults, which begins with `where`;
        `then` follows and says what to do. `wanted` gives better words than those of the type for
        what some keys ask for.
        """
        try:
            return self._converter.structure(content, kind)
        except (BaseValidationError, MisfitError, ForbiddenExtraKeysError) as error:
            told = [_told(path, fault, where, wanted or {}) for path, fault in _faults(error, ())]
            more = f" There are {len(told) - MOST_TOLD} more." * (len(told) > MOST_TOLD)
            raise PlainError(f"{' '.join(told[:MOST_TOLD])}{more} {then}") from error

    def plain(self, value: object) -> Record:
        """A dataclass as plain data; times are texts by RFC 3339, in UTC."""
        content: Record = self._converter.unstructure(value)
        return content

    def _fields_reader(self, kind: type) -> Hook:
        read: Callable[[Record, type], object] = make_dict_structure_fn(
            kind, self._converter, _cattrs_forbid_extra_keys=True
        )

        def structure(value: object, _: object) -> object:
            if not isinstance(value, dict):
                raise MisfitError("a table", value)
            if self._upcasters is not None and _has_version(kind):
                value = _raised(self._upcasters, kind, value)
            return read(value, kind)

        return structure

    def _fields_writer(self, kind: type[Versioned]) -> Callable[[Any], Record]:
        write = make_dict_unstructure_fn(kind, self._converter)
        return lambda value: {"version": kind.version, **write(value)}

    def _list(self, value: object, kind: object) -> object:
        """TOML and JSON have lists; the command line gives tuples."""
        parts = get_args(kind)
        any_length = parts[-1] is Ellipsis
        if not isinstance(value, list | tuple) or not (any_length or len(value) == len(parts)):
            raise MisfitError(wanted_words(kind), value)
        each = parts[:1] * len(value) if any_length else parts
        return tuple(self._each(zip(range(1, len(value) + 1), value, each, strict=True), kind))

    def _table(self, value: object, kind: object) -> object:
        if not isinstance(value, dict):
            raise MisfitError("a table", value)
        of = get_args(kind)[1]
        read = self._each([(key, item, of) for key, item in value.items()], kind)
        return dict(zip(value, read, strict=True))

    def _each(self, items: Iterable[tuple[str | int, object, type]], kind: Any) -> list[object]:
        """The entries of a list or table: key, value and type of each."""
        found: list[object] = []
        faults: list[Exception] = []
        for key, item, part in items:
            try:
                found.append(self._converter.structure(item, part))
            except (BaseValidationError, MisfitError, ForbiddenExtraKeysError) as error:
                error.add_note(IterableValidationNote("", key, part))
                faults.append(error)
        if faults:
            raise IterableValidationError("", faults, kind)
        return found


def _raised(upcasters: Upcasters, kind: type, value: dict[str, object]) -> Record:
    if "version" not in value:
        raise MisfitError("", value, "must have a 'version'")
    content = {key: item for key, item in value.items() if key != "version"}
    try:
        name, content = upcasters.raised(kind.__name__, value["version"], content)
    except PlainError as error:
        raise MisfitError("", value, f"cannot be read: {error}") from error
    if name != kind.__name__:
        raise MisfitError("", value, f"must be a {kind.__name__}, not a {name}")
    return content


def _is_literal(kind: object) -> bool:
    return get_origin(kind) is Literal


def _is_tuple(kind: object) -> bool:
    return get_origin(kind) is tuple


def _is_dict(kind: object) -> bool:
    return get_origin(kind) is dict


def _is_scalar_union(kind: object) -> bool:
    return is_union(kind) and all(part in SCALARS for part in get_args(kind))


def _has_version(kind: object) -> bool:
    return is_dataclass(kind) and isinstance(getattr(kind, "version", None), int)


def _faults(error: BaseException, path: Way) -> Iterator[tuple[Way, BaseException | object]]:
    """Every single fault below an error of cattrs, with the way to it."""
    if not isinstance(error, BaseValidationError):
        yield path, error
        return
    for inner in error.exceptions:
        note = next(
            (
                note
                for note in reversed(getattr(inner, "__notes__", []))
                if isinstance(note, AttributeValidationNote | IterableValidationNote)
            ),
            None,
        )
        if isinstance(note, AttributeValidationNote):
            here: Way = (*path, note.name)
        else:
            here = path if note is None else (*path, note.index)
        if isinstance(inner, KeyError) and isinstance(note, AttributeValidationNote):
            yield here, note
        else:
            yield from _faults(inner, here)


def _told(path: Way, fault: object, where: str, wanted: Mapping[str, str]) -> str:
    """One fault as a sentence. A note stands for a field that is missing."""
    keys = [key for key in path if isinstance(key, str)]
    better = wanted.get(keys[-1], "") if keys and isinstance(path[-1], str) else ""
    if isinstance(fault, AttributeValidationNote):
        needed = better or wanted_words(fault.type)
        return f"{place_words(where, path)} is missing; it must be {needed}."
    if isinstance(fault, ForbiddenExtraKeysError):
        known = ", ".join(field.name for field in fields(fault.cl))
        return (
            f"{table_words(where, path)}: unknown key '{min(fault.extra_fields)}'. "
            f"Known are {known}."
        )
    if isinstance(fault, MisfitError) and better and not fault.told:
        return f"{place_words(where, path)} must be {better}, not {shown(fault.came)}."
    return f"{place_words(where, path)} {fault}."
