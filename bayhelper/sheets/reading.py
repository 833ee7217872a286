"""Finds a TOML sheet and reads it into a dataclass; errors say file, key, what was wanted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TypeVar

from bayhelper.plain.shapes import Shapes
from bayhelper.plain.toml import read_toml
from bayhelper.plain.words import place_words
from bayhelper.terms.errors import PlainError, SheetError

T = TypeVar("T")
"""Type of what a table is read into."""
THEN = "Correct it there."
"""What to do about a key that does not fit."""
WANTED = {
    "plan_m": "two corners such as [1.6, 0.9, 2.5, 1.6], the second one farther back and farther "
    "left",
    "air_c": "two rising numbers such as [10, 30]",
    "air_rh_percent": "two rising numbers such as [30, 80]",
}
"""What keys ask for whose type alone does not tell it."""
LOWEST = {"reference_c": -50.0, "activation_j_mol": -1.0}
"""Figures that may be 0 or less, and what they must be above; all others must be above 0. The
lowest temperature is far below any bay (chosen)."""
MOST = 1e7
"""No figure of a sheet is larger: that many hours after today the calendar still has a date, and
that many seconds are four months."""
MOST_COUNT = 1000
"""No sheet counts more layers, sections or panels than this (chosen: far above any car)."""


@dataclass(frozen=True)
class Sheet:
    """A TOML file, read but not yet checked."""

    where: str
    """Its name for errors: a path, or folder and name of a shipped one."""
    content: Mapping[str, object]
    """Its keys and values."""

    def read(self, kind: type[T]) -> T:
        """The sheet as a dataclass; see `read_table`."""
        return read_table(dict(self.content), kind, self.where)


def read_table(content: object, kind: type[T], where: str) -> T:
    """Plain data as a value of `kind`, every number of it within what a sheet may say.

    Raises SheetError naming file, key, what was wanted and what came.
    """
    try:
        value = _shapes().read(content, kind, where, THEN, WANTED)
    except PlainError as error:
        raise SheetError(str(error)) from error
    for path, asked, came in _out_of_range(value, ()):
        raise SheetError(f"{place_words(where, path)} must be {asked}, not {came:g}. {THEN}")
    return value


@cache
def _shapes() -> Shapes:
    return Shapes()


Fault = tuple[tuple[str | int, ...], str, float]
"""The way to a number, what was asked, and the number."""


def _out_of_range(value: object, path: tuple[str | int, ...]) -> Iterator[Fault]:
    """Numbers of a dataclass that no sheet may say, and those inside it."""
    if isinstance(value, tuple):
        for number, item in enumerate(value, start=1):
            yield from _out_of_range(item, (*path, number))
            if isinstance(item, float) and not -MOST <= item <= MOST:
                yield path, f"numbers between {-MOST:.0f} and {MOST:.0f}", item
    if not is_dataclass(value):
        return
    for field in fields(value):
        item, here = getattr(value, field.name), (*path, field.name)
        low = LOWEST.get(field.name, 0.0)
        if isinstance(item, float) and not low < item <= MOST:
            asked = f"a number above {low:g}" if item <= low else f"a number up to {MOST:.0f}"
            yield here, asked, item
        elif type(item) is int and not 1 <= item <= MOST_COUNT:
            asked = "1 or more" if item < 1 else f"at most {MOST_COUNT}"
            yield here, asked, max(min(item, int(MOST)), -int(MOST))
        else:
            yield from _out_of_range(item, here)


def read_sheet(folder: str, name: str) -> Sheet:
    """A shipped sheet by its id, or any TOML file by its path.

    Raises SheetError when there is none, or when it is no TOML file.
    """
    if name.endswith(".toml"):
        path = Path(name)
        if not path.is_file():
            what = "is a folder, no sheet" if path.is_dir() else "is no file"
            raise SheetError(f"There is no file {path}: it {what}. Give the path of a TOML sheet.")
        return _sheet(path, str(path))
    shipped = resources.files("bayhelper.sheets") / folder
    if name not in shipped_ids(folder):
        raise SheetError(
            f"There is no sheet '{name}' among {folder}: {', '.join(shipped_ids(folder))}. "
            "Choose one of these, or give the path of a TOML file."
        )
    return _sheet(shipped / f"{name}.toml", f"{folder}/{name}.toml")


def shipped_ids(folder: str) -> tuple[str, ...]:
    """Ids of the sheets that come with the package, sorted."""
    shipped = resources.files("bayhelper.sheets") / folder
    return tuple(sorted(i.name[:-5] for i in shipped.iterdir() if i.name.endswith(".toml")))


def _sheet(file: Path | Traversable, where: str) -> Sheet:
    try:
        return Sheet(where, read_toml(file, where))
    except PlainError as error:
        raise SheetError(str(error)) from error
