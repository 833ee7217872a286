"""Recordings of speech that is not for the helper, each once, in two halves."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from bayhelper.hear.capture.recording import read_sound

HALVES = ("tune", "report")
"""Lines are drawn on the first and reported on the second."""
NEAR = "near_address.txt"
"""The text written to sound like phrases that address the helper."""


@dataclass(frozen=True)
class Talk:
    """One recording."""

    file: Path
    """Where it lies."""
    kind: str
    """Name of its folder; 'near' for talk written to sound like an address phrase."""
    half: str
    """'tune' or 'report'."""


def entries(folder: Path) -> dict[str, dict[str, str]]:
    """The rows of a folder's index.jsonl by file; none when it has no index."""
    file = folder / "index.jsonl"
    rows = map(json.loads, file.read_text(encoding="utf-8").splitlines()) if file.exists() else ()
    return {row["file"]: row for row in rows}


def talk_recordings(folders: Iterable[Path]) -> Iterator[Talk]:
    """Every recording under the folders, the same sound only once.

    The half is that of the folder's index, or else falls with the sound itself. A prompt that is
    installed under three names would count three times as other talk, and stand in both halves.
    """
    seen: set[bytes] = set()
    for folder in folders:
        known = entries(folder)
        for file in sorted(folder.rglob("*.flac")):
            digest = hashlib.sha256(read_sound(file).pcm).digest()
            if digest in seen:
                continue
            seen.add(digest)
            row = known.get(str(file.relative_to(folder)), {})
            kind = "near" if row.get("text") == NEAR else folder.name
            yield Talk(file, kind, row.get("half", HALVES[digest[0] % 2]))
