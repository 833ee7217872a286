"""Plays recordings into the bay on a clock that advances by what is heard and said."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from bayhelper.hear.capture.recording import recording_length_s, recording_utterances
from bayhelper.run.bay.bay import Bay
from bayhelper.run.clock import ManualClock
from bayhelper.run.clock import pause as wait
from bayhelper.run.mouth import Mouth
from bayhelper.terms.errors import RunError
from bayhelper.terms.utterance import Utterance


@dataclass(frozen=True)
class Take:
    """One recording of a playlist."""

    file: Path
    """WAV or FLAC."""
    after_s: float = 0.0
    """Silence before it, seconds, counted from the end of what was heard and said before."""


def read_story(path: Path) -> tuple[Take, ...]:
    """A playlist from TOML: [[line]] tables with `file` (beside it) and `after_s`.

    Raises RunError naming the entry that is wrong.
    """
    try:
        rows = tomllib.loads(path.read_text(encoding="utf-8")).get("line", [])
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise RunError(f"{path} cannot be read as a playlist: {error}. Check the file.") from error
    takes = []
    for number, row in enumerate(rows, 1):
        file, after_s = row.get("file"), row.get("after_s", 0.0)
        if not isinstance(file, str) or not isinstance(after_s, int | float) or after_s < 0:
            raise RunError(
                f"{path}, line {number}: expected a 'file' and an 'after_s' of 0 or more, "
                f"got {row!r}. Correct that entry."
            )
        takes.append(Take(path.parent / file, float(after_s)))
    if not takes:
        raise RunError(f"{path} holds no [[line]] entries. Add at least one.")
    return tuple(takes)


def takes_of(files: Iterable[Path]) -> Iterator[Take]:
    """Recordings and playlists in the order given."""
    for file in files:
        if file.suffix == ".toml":
            yield from read_story(file)
        else:
            yield Take(file)


def play(
    takes: Iterable[Take],
    bay: Bay,
    mouth: Mouth,
    clock: ManualClock,
    *,
    fast: bool,
    patience_s: float,
    suppressor: str = "off",
) -> None:
    """Let the bay hear every recording; deadlines in the gaps fall due at their own instants.

    Unless `fast`, each step takes as long as it would in the bay. Silence of `patience_s` seconds
    ends an utterance.
    """
    for take in takes:
        before_utc = clock.now_utc()
        pause(bay, mouth, clock, take.after_s)
        began_utc = clock.now_utc()
        whole = partial(_is_whole, bay, began_utc)
        for utterance in recording_utterances(take.file, patience_s, suppressor, whole):
            advance(bay, clock, began_utc + timedelta(seconds=utterance.end_s))
            bay.take(utterance, clock.now_utc())
        advance(bay, clock, began_utc + timedelta(seconds=recording_length_s(take.file)))
        if not fast:
            wait((clock.now_utc() - before_utc).total_seconds())
    advance(bay, clock, mouth.speaking_until_utc)


def _is_whole(bay: Bay, began_utc: datetime, utterance: Utterance) -> bool:
    return bay.is_whole(utterance, began_utc + timedelta(seconds=utterance.end_s))


def pause(bay: Bay, mouth: Mouth, clock: ManualClock, seconds: float) -> None:
    """Let time pass after everything that was said."""
    start_utc = max(clock.now_utc(), mouth.speaking_until_utc)
    advance(bay, clock, start_utc + timedelta(seconds=seconds))


def advance(bay: Bay, clock: ManualClock, until_utc: datetime) -> None:
    """Move the clock on, stopping at every deadline on the way; never back."""
    while (due_utc := bay.next_due_utc()) is not None and due_utc <= until_utc:
        clock.set_utc(max(due_utc, clock.now_utc()))
        bay.pass_time(clock.now_utc())
    clock.set_utc(max(until_utc, clock.now_utc()))
