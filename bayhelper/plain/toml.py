"""A TOML file as plain data."""

from __future__ import annotations

import tomllib
from importlib.resources.abc import Traversable
from pathlib import Path

from bayhelper.terms.errors import PlainError


def read_toml(file: Path | Traversable, where: str) -> dict[str, object]:
    """The keys and values of a file.

    Raises PlainError beginning with `where` for a file that cannot be read, is no UTF-8, no TOML,
    or holds what no sheet needs: a number of thousands of digits, lists nested a thousand deep.
    """
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise PlainError(
            f"{where} cannot be read: {error.strerror or error}. Look at the file and its rights."
        ) from error
    except UnicodeDecodeError as error:
        raise PlainError(
            f"{where} cannot be read: expected UTF-8, but byte {error.start} is none "
            f"({error.reason}). Save it as UTF-8 text."
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise PlainError(f"{where}: not valid TOML: {error}. Correct it there.") from error
    except (ValueError, RecursionError) as error:
        raise PlainError(
            f"{where} cannot be read: expected numbers and lists of a usual size: {error}. "
            "Correct it there."
        ) from error
