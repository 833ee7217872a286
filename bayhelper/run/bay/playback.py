"""Recordings and typed lines on a clock that advances by what is heard and said."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from pathlib import Path

from bayhelper.hear.capture.caught import Caught
from bayhelper.hear.capture.recording import recording_length_s, recording_utterances
from bayhelper.run.bay.door import caught_now
from bayhelper.run.bay.loop import Loop
from bayhelper.run.bay.script import Script, Step
from bayhelper.run.bay.session import Session
from bayhelper.run.bay.waiting import ManualWaits
from bayhelper.run.clock import ManualClock
from bayhelper.run.clock import pause as sleep
from bayhelper.terms.errors import RunError
from bayhelper.terms.utterance import Utterance

WAIT = re.compile(r"wait (\d+(?:\.\d+)?) (second|minute|hour)s?")
"""A typed line that lets time pass."""
UNIT_S = {"second": 1, "minute": 60, "hour": 3600}
"""Seconds in each of its units."""


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
    session: Session,
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
    steps = _recordings(takes, session, clock, patience_s, suppressor)
    _run(steps, session, clock, None if fast else sleep)


def play_lines(lines: Iterable[Utterance], session: Session, clock: ManualClock) -> None:
    """Typed lines, each after the answer to the one before; 'wait 5 minutes' passes at once."""
    _run(_lines(lines, session, clock), session, clock)


def pass_time(session: Session, clock: ManualClock, seconds: float) -> None:
    """Let time pass after everything that was said."""
    start_utc = max(clock.now_utc(), session.mouth.speaking_until_utc)
    _run(iter([(start_utc + timedelta(seconds=seconds), _nothing)]), session, clock)


def _run(
    steps: Iterator[Step],
    session: Session,
    clock: ManualClock,
    sleeps: Callable[[float], None] | None = None,
) -> None:
    waits = ManualWaits(clock, pause=sleeps)
    Loop(session.bay, waits, (Script(steps),), (session.conversation,)).run()


def _recordings(
    takes: Iterable[Take],
    session: Session,
    clock: ManualClock,
    patience_s: float,
    suppressor: str,
) -> Iterator[Step]:
    mouth = session.mouth
    for take in takes:
        start_utc = max(clock.now_utc(), mouth.speaking_until_utc)
        yield start_utc + timedelta(seconds=take.after_s), _nothing
        began_utc, began_s = clock.now_utc(), clock.steady_s()
        whole = partial(_is_whole, session, began_s)
        for utterance in recording_utterances(take.file, patience_s, suppressor, whole):
            at_utc = began_utc + timedelta(seconds=utterance.end_s)
            yield at_utc, partial(_ended_now, utterance, began_s, clock)
        yield began_utc + timedelta(seconds=recording_length_s(take.file)), _nothing
    yield mouth.speaking_until_utc, _nothing


def _is_whole(session: Session, began_s: float, utterance: Utterance) -> bool:
    """Whether it may end at the pause that it has come to; the recording began then."""
    onset_s, ended_s = began_s + utterance.start_s, began_s + utterance.end_s
    return session.conversation.is_whole(Caught(utterance, onset_s, ended_s, ended_s))


def _ended_now(utterance: Utterance, began_s: float, clock: ManualClock) -> Caught:
    now_s = clock.steady_s()
    return Caught(utterance, began_s + utterance.start_s, now_s, now_s)


def _lines(lines: Iterable[Utterance], session: Session, clock: ManualClock) -> Iterator[Step]:
    for line in lines:
        waited = WAIT.fullmatch(line.typed.lower())
        if waited:
            passed = timedelta(seconds=float(waited[1]) * UNIT_S[waited[2]])
            yield clock.now_utc() + passed, _nothing
        else:
            at_utc = max(clock.now_utc(), session.mouth.speaking_until_utc)
            yield at_utc, partial(_typed, line, clock)


def _typed(line: Utterance, clock: ManualClock) -> Caught:
    return caught_now(line, clock.steady_s())


def _nothing() -> None:
    """What happens at an instant up to which time only passes."""
