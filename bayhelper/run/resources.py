"""Finds what ships with the package: the grammars and the demo's recordings.

A wheel carries both inside the package. In a source tree (a clone, an unpacked sdist, an editable
install) they lie beside it, and are used from there, so that an edit counts at once.
"""

from __future__ import annotations

from pathlib import Path

import bayhelper
from bayhelper.terms.errors import RunError

PACKAGE = Path(bayhelper.__file__).resolve().parent
"""The folder that the package lies in."""


def find(inside: str, holding: str, package: Path = PACKAGE) -> Path:
    """The folder `inside` that holds a file matching `holding`, beside the package or in it.

    Raises RunError when neither place has one.
    """
    places = (package.parent / inside, package / inside)
    source_tree = (package.parent / "pyproject.toml").is_file()
    for place in places if source_tree else places[1:]:
        if any(place.glob(holding)):
            return place
    looked = " and ".join(str(place) for place in places)
    raise RunError(
        f"Expected a folder {inside!r} with files {holding!r} in it, and found none; looked at "
        f"{looked}. The installation is incomplete: install bayhelper again."
    )


def grammars_dir() -> Path:
    """The folder of JSGF files."""
    return find("grammars", "*.jsgf")


def demo_dir() -> Path:
    """The folder of the demo's recordings and its TOML."""
    return find("audio_fixtures/demo", "*.toml")


def grammar_texts() -> dict[str, str]:
    """The text of each grammar file by its file name, such as 'coating.jsgf'."""
    return {
        path.name: path.read_text(encoding="utf-8")
        for path in sorted(grammars_dir().glob("*.jsgf"))
    }
