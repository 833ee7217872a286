"""A model's network with a graph of our own, laid out as Vosk wants it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from bayhelper.hear.engines.vosk_library import load_model
from bayhelper.terms.errors import HearingError

NETWORK, SETTINGS, SEARCH, GRAPH = "am", "conf", "model.conf", "graph"
"""Folders and a file of a model, as Vosk looks for them."""


def load_graph(model: Path, search: Mapping[str, object], lay: Callable[[Path], None]) -> Any:
    """The model's network with the graph that `lay` writes into the folder it is handed.

    `search` goes before the model's own settings of the same names. Raises HearingError when Vosk
    refuses what it is given.
    """
    with TemporaryDirectory() as name:
        folder = Path(name)
        lay(folder / GRAPH)
        try:
            _link(model / NETWORK, folder / NETWORK)
            (folder / SETTINGS).mkdir()
            for entry in (model / SETTINGS).iterdir():
                if entry.name != SEARCH:
                    _link(entry, folder / SETTINGS / entry.name)
            settings = _with(model / SETTINGS / SEARCH, search)
            (folder / SETTINGS / SEARCH).write_text(settings, encoding="utf-8")
        except OSError as error:
            raise HearingError(
                f"Cannot lay out the model in {model} with a graph of its own: {error}. See that "
                "the folder is whole and the disk has room."
            ) from error
        return load_model(folder, model)


def _with(file: Path, search: Mapping[str, object]) -> str:
    lines = file.read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if line.partition("=")[0].removeprefix("--") not in search]
    return "".join(f"{line}\n" for line in [*kept, *(f"--{k}={v}" for k, v in search.items())])


def _link(entry: Path, to: Path) -> None:
    """By a copy, where links are not allowed."""
    try:
        to.symlink_to(entry.resolve(), target_is_directory=entry.is_dir())
    except OSError:
        if entry.is_dir():
            shutil.copytree(entry, to)
        else:
            shutil.copyfile(entry, to)
