"""Files that are kept: written whole or not at all, safe on the disk, and never overwritten."""

from __future__ import annotations

import os
from pathlib import Path


def keep_file(folder: Path, name: str, content: bytes) -> Path:
    """Write a file; it gets another name where that one is taken. Raises OSError."""
    folder.mkdir(parents=True, exist_ok=True)
    file = wanted = folder / name
    number = 1
    while file.exists():
        number += 1
        file = folder / f"{wanted.stem}-{number}{wanted.suffix}"
    part = file.with_suffix(".part")
    with part.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    part.rename(file)
    _sync_folder(folder)
    return file


def _sync_folder(folder: Path) -> None:
    """Bring the new name to disk too: fsync of a file does not cover its directory entry."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
