"""How types and values of plain data are called in an error."""

from __future__ import annotations

from dataclasses import is_dataclass
from datetime import datetime
from itertools import pairwise
from types import UnionType
from typing import Literal, Union, get_args, get_origin

Way = tuple[str | int, ...]
"""The way to a value from the outside in: keys, and numbers from 1 for entries of lists."""
SHOWN_LETTERS = 80
"""So much of a wrong value is shown: it fits on a line beside the rest (chosen by eye)."""
ONE = {
    str: "a text",
    int: "a whole number",
    float: "a number",
    bool: "true or false",
    datetime: "a time in RFC 3339 with its offset from UTC",
}
"""What one value of a type is called."""
MANY = {str: "texts", int: "whole numbers", float: "numbers"}
"""What several values of a type are called; where a type is missing, they are 'tables'."""
COUNTS = {2: "two", 3: "three", 4: "four"}
"""Small numbers as words, for lists of a fixed length."""


def wanted_words(kind: object) -> str:
    """What a type of a dataclass field asks for, such as 'a list of texts'."""
    if isinstance(kind, type) and kind in ONE:
        return ONE[kind]
    parts = get_args(kind)
    if get_origin(kind) is Literal:
        return f"one of {', '.join(str(part) for part in parts if part != '')}"
    if is_union(kind):
        return " or ".join(wanted_words(part) for part in parts if part is not type(None))
    if get_origin(kind) is tuple:
        if parts[-1] is Ellipsis:
            return f"a list of {_several(parts[0])}"
        if parts == (str, str):
            return "a pair of texts"
        return f"{COUNTS.get(len(parts), len(parts))} {_several(parts[0])}"
    return "a table"


def is_union(kind: object) -> bool:
    """Whether a type is one of several, `A | B`."""
    return get_origin(kind) in (Union, UnionType)


def shown(value: object) -> str:
    """A value as an error shows it: cut where it is long, and never failing."""
    try:
        text = repr(value)
    except (ValueError, RecursionError):  # an int of thousands of digits, or nested too deep
        return f"a {'number' if isinstance(value, int) else 'list or table'} too long to be shown"
    return text if len(text) <= SHOWN_LETTERS else f"{text[:SHOWN_LETTERS]}..."


def place_words(where: str, path: Way) -> str:
    """File and key of a value, such as "x.toml [[panel]] number 2: 'part'"."""
    last = next((n for n in reversed(range(len(path))) if isinstance(path[n], str)), None)
    if last is None:
        return f"{where}: it"
    entries = "".join(f"entry {entry} of " for entry in reversed(path[last + 1 :]))
    return f"{table_words(where, path[:last])}: {entries}'{path[last]}'"


def table_words(where: str, path: Way) -> str:
    """File and table, such as 'x.toml [[panel]] number 2'."""
    words = where
    for key, after in pairwise((*path, None)):
        if isinstance(key, int):
            words += f" number {key}"
        else:
            words += f" [[{key}]]" if isinstance(after, int) else f" [{key}]"
    return words


def _several(kind: object) -> str:
    if get_origin(kind) is Literal:
        return "texts"
    if get_args(kind) == (str, str):
        return "pairs of texts"
    if isinstance(kind, type) and not is_dataclass(kind):
        return MANY.get(kind, "tables")
    return "tables"
