"""Decoding graphs kept on disk from one run to the next.

Each lies in a folder of its own, named by what it was made from, beside a list of its files'
digests. One that is damaged, or that another process is about to replace, is made again.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from tempfile import mkdtemp

KEPT = 4
"""Graphs; that of free words takes 12 MB. Our own choice: a few models or versions in turn."""
DIGESTS = "digests.json"
"""Name of the list beside a graph's files."""
UNFINISHED = "unfinished-"
"""How the folder of a graph begins that is still being written."""


class GraphCache:
    """A folder of graphs; a folder that cannot be written costs time, nothing else."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def lay(self, key: str, make: Callable[[Path], None], into: Path) -> None:
        """Put the files of a graph into `into`, which must not be there yet.

        `make` writes them into a folder when they are not kept, or not whole.
        """
        kept = self._folder / key
        if _copied(kept, into):
            with suppress(OSError):
                os.utime(kept)
            return
        shutil.rmtree(into, ignore_errors=True)
        into.mkdir()
        make(into)
        with suppress(OSError):
            self._keep(into, kept)

    def _keep(self, made: Path, kept: Path) -> None:
        self._folder.mkdir(parents=True, exist_ok=True)
        unfinished = Path(mkdtemp(prefix=UNFINISHED, dir=self._folder))
        try:
            shutil.copytree(made, unfinished, dirs_exist_ok=True)
            (unfinished / DIGESTS).write_text(json.dumps(_digests(unfinished)), encoding="utf-8")
            shutil.rmtree(kept, ignore_errors=True)
            unfinished.rename(kept)
        finally:
            shutil.rmtree(unfinished, ignore_errors=True)
        self._drop_oldest()

    def _drop_oldest(self) -> None:
        """Also what a process left unfinished when it was killed, once it is old enough."""
        entries = sorted(self._folder.iterdir(), key=lambda entry: entry.stat().st_mtime)
        for entry in entries[:-KEPT]:
            shutil.rmtree(entry, ignore_errors=True)


def _copied(kept: Path, into: Path) -> bool:
    """Whether a graph was kept, and is whole where it was copied to."""
    try:
        expected = json.loads((kept / DIGESTS).read_text(encoding="utf-8"))
        shutil.copytree(kept, into, ignore=shutil.ignore_patterns(DIGESTS))
        return bool(_digests(into) == expected)
    except (OSError, ValueError):
        return False


def _digests(folder: Path) -> dict[str, str]:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in files
    }
