"""Reading a TOML sheet key by key; errors say file, key, what was wanted and what came."""

from __future__ import annotations

import tomllib
from importlib import resources
from pathlib import Path
from typing import Any

from bayhelper.terms.errors import SheetError


class Table:
    """One table of a sheet; every key must be taken, so that a misspelt one is noticed."""

    def __init__(self, content: dict[str, Any], where: str) -> None:
        self._rest = dict(content)
        self.where = where

    def text(self, key: str, default: str | None = None) -> str:
        """A string."""
        return str(self._take(key, str, "a text", default))

    def number(self, key: str, default: float | None = None, *, above: float = 0.0) -> float:
        """A number greater than `above`."""
        value = self._take(key, (int, float), "a number", default)
        if isinstance(value, bool) or value <= above:
            raise SheetError(
                f"{self.where}: '{key}' must be a number above {above:g}, but is {value!r}. "
                "Correct it in that file."
            )
        return float(value)

    def maybe_number(self, key: str) -> float | None:
        """A positive number, or None when the key is absent."""
        return self.number(key) if key in self._rest else None

    def whole(self, key: str, default: int | None = None) -> int:
        """A whole number of at least 1."""
        value = self._take(key, int, "a whole number", default)
        if isinstance(value, bool) or value < 1:
            raise SheetError(
                f"{self.where}: '{key}' must be 1 or more, but is {value!r}. Correct it there."
            )
        return int(value)

    def maybe_whole(self, key: str) -> int | None:
        """A whole number of at least 1, or None when the key is absent."""
        return self.whole(key) if key in self._rest else None

    def flag(self, key: str) -> bool:
        """True or false; false when absent."""
        return bool(self._take(key, bool, "true or false", False))

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of strings; empty when absent."""
        values = self._take(key, list, "a list of texts", [])
        if not all(isinstance(value, str) for value in values):
            raise SheetError(
                f"{self.where}: '{key}' must be a list of texts, but is {values!r}. "
                "Put each entry in quotes."
            )
        return tuple(values)

    def span(self, key: str) -> tuple[float, float] | None:
        """Two rising numbers, or None when the key is absent."""
        values = self._take(key, list, "two numbers", [])
        if not values:
            return None
        numbers = [v for v in values if isinstance(v, int | float) and not isinstance(v, bool)]
        if len(values) != 2 or len(numbers) != 2 or numbers[0] >= numbers[1]:
            raise SheetError(
                f"{self.where}: '{key}' must be two rising numbers such as [10, 30], "
                f"but is {values!r}."
            )
        return float(numbers[0]), float(numbers[1])

    def box(self, key: str) -> tuple[float, float, float, float] | None:
        """Two corners as four numbers, each pair rising, or None when the key is absent."""
        values = self._take(key, list, "four numbers", [])
        if not values:
            return None
        numbers = [v for v in values if isinstance(v, int | float) and not isinstance(v, bool)]
        if len(values) != 4 or len(numbers) != 4 or not _rises(numbers):
            raise SheetError(
                f"{self.where}: '{key}' must be two corners such as [1.6, 0.9, 2.5, 1.6], the "
                f"second one farther back and farther left, but is {values!r}."
            )
        x0, y0, x1, y1 = map(float, numbers)
        return x0, y0, x1, y1

    def choice(self, key: str, choices: tuple[str, ...], default: str | None = None) -> str:
        """One of the given texts."""
        value = self.text(key, default)
        if value not in choices:
            raise SheetError(
                f"{self.where}: '{key}' must be one of {', '.join(choices)}, but is '{value}'."
            )
        return value

    def table(self, key: str) -> Table | None:
        """A sub-table, or None when absent."""
        if key not in self._rest:
            return None
        return Table(self._take(key, dict, "a table", None), f"{self.where} [{key}]")

    def tables(self, key: str) -> list[Table]:
        """A list of tables; empty when absent."""
        rows = self._take(key, list, "a list of tables", [])
        return [Table(row, f"{self.where} [[{key}]] number {n}") for n, row in enumerate(rows, 1)]

    def pairs(self, key: str) -> list[tuple[str, str]]:
        """A list of pairs of texts; empty when absent."""
        rows = self._take(key, list, "a list of pairs", [])
        for row in rows:
            if not (
                isinstance(row, list) and len(row) == 2 and all(isinstance(x, str) for x in row)
            ):
                raise SheetError(
                    f"{self.where}: each entry of '{key}' must be a pair of texts such as "
                    f'["bonnet", "front_wing"], but one is {row!r}.'
                )
        return [(row[0], row[1]) for row in rows]

    def all_texts(self) -> dict[str, str]:
        """Every key left, each a text."""
        return {key: self.text(key) for key in list(self._rest)}

    def all_lists(self) -> dict[str, tuple[str, ...]]:
        """Every key left, each a list of texts."""
        return {key: self.texts(key) for key in list(self._rest)}

    def finish(self) -> None:
        """Refuse keys that nobody asked for."""
        if self._rest:
            raise SheetError(
                f"{self.where}: unknown key '{min(self._rest)}'. Remove it or correct its spelling."
            )

    def _take(self, key: str, kind: Any, wanted: str, default: Any) -> Any:
        if key not in self._rest:
            if default is None:
                raise SheetError(f"{self.where}: '{key}' is missing; it must be {wanted}.")
            return default
        value = self._rest.pop(key)
        if not isinstance(value, kind):
            raise SheetError(f"{self.where}: '{key}' must be {wanted}, but is {value!r}.")
        return value


def _rises(corners: list[float]) -> bool:
    return corners[0] < corners[2] and corners[1] < corners[3]


def read_sheet(folder: str, name: str) -> Table:
    """A shipped sheet by its id, or any TOML file by its path.

    Raises SheetError when there is none, or when it is not TOML.
    """
    if name.endswith(".toml"):
        path = Path(name)
        if not path.is_file():
            raise SheetError(f"There is no file {path}. Give the path of a TOML sheet.")
        return _table(path.read_text(encoding="utf-8"), str(path))
    shipped = resources.files("bayhelper.sheets") / folder
    known = sorted(item.name[:-5] for item in shipped.iterdir() if item.name.endswith(".toml"))
    if name not in known:
        raise SheetError(
            f"There is no sheet '{name}' among {folder}: {', '.join(known)}. "
            "Choose one of these, or give the path of a TOML file."
        )
    return _table((shipped / f"{name}.toml").read_text(encoding="utf-8"), f"{folder}/{name}.toml")


def shipped_ids(folder: str) -> tuple[str, ...]:
    """Ids of the sheets that come with the package, sorted."""
    shipped = resources.files("bayhelper.sheets") / folder
    return tuple(sorted(i.name[:-5] for i in shipped.iterdir() if i.name.endswith(".toml")))


def _table(text: str, where: str) -> Table:
    try:
        return Table(tomllib.loads(text), where)
    except tomllib.TOMLDecodeError as error:
        raise SheetError(f"{where}: not valid TOML: {error}. Correct it there.") from error
