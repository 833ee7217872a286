"""What `bayhelper check` tries."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from bayhelper.decide.replay import fold
from bayhelper.hear.accept import SILENCE
from bayhelper.hear.capture.denoise import open_suppressor
from bayhelper.remember.clips import Clips, clips_of
from bayhelper.remember.history import History
from bayhelper.remember.journal import Journal
from bayhelper.run.clock import SystemClock
from bayhelper.run.naming_check import naming_warnings
from bayhelper.run.parts import build_library, build_scope, open_engine
from bayhelper.run.settings import load_settings
from bayhelper.sound.portaudio import sound_devices
from bayhelper.speak.voice_process import VoiceProcess
from bayhelper.terms.errors import BayhelperError, HearingError, RecordError, RunError

MOST_NAMED = 5
"""So many recordings that are missing or damaged are named."""


@dataclass(frozen=True)
class Finding:
    """How one part is."""

    part: str
    """Which part."""
    state: Literal["ok", "warn", "bad"]
    """'warn' for what is missing but not needed."""
    text: str
    """What was found, or what to do."""


def check_all(folder: Path) -> tuple[Finding, ...]:
    """Every part in turn; an error in one does not keep the others from being tried."""
    needed: tuple[tuple[str, Callable[[Path], str]], ...] = (
        ("python", _python),
        ("settings", _settings),
        ("grammars", _grammars),
        ("ear", _ear),
        ("voice", _voice),
        ("journal", _journal),
        ("clock", _clock),
    )
    found = [_try(part, action, folder, "bad") for part, action in needed]
    found.append(_try("names", _names, folder, "warn"))
    found.append(_try("suppressor", _suppressor, folder, "warn"))
    found.append(_try("recordings", _recordings, folder, "warn"))
    found.append(_try("record time", _record_time, folder, "warn"))
    found.append(_try("sound card", _sound_card, folder, "warn"))
    return tuple(found)


def _try(
    part: str, action: Callable[[Path], str], folder: Path, otherwise: Literal["warn", "bad"]
) -> Finding:
    try:
        return Finding(part, "ok", action(folder))
    except BayhelperError as error:
        return Finding(part, otherwise, str(error))


def _python(folder: Path) -> str:
    return f"Python {sys.version.split()[0]}"


def _settings(folder: Path) -> str:
    settings = load_settings(folder)
    return f"address '{settings.address}', {settings.speaks()} words, driver {settings.drives()}"


def _grammars(folder: Path) -> str:
    offer = build_library().offer(build_scope(load_settings(folder)))
    return f"{len(offer.branches)} commands, {len(offer.words())} words"


def _ear(folder: Path) -> str:
    settings = load_settings(folder)
    offer = build_library().offer(build_scope(settings))
    with open_engine(settings) as engine:
        missing = engine.missing_words(offer.words())
        engine.listen(SILENCE, offer.jsgf(True))
    if missing:
        raise HearingError(f"No pronunciation for {', '.join(missing)}. Reinstall bayhelper.")
    return f"{settings.engine} loads and knows every word"


def _names(folder: Path) -> str:
    """The address phrase and the technicians' names, against the words of the commands."""
    settings = load_settings(folder)
    against = naming_warnings(settings)
    if against:
        raise HearingError(" ".join(against))
    return f"'{settings.address}' and {len(settings.technicians)} names sound like no command"


def _suppressor(folder: Path) -> str:
    name = load_settings(folder).suppressor
    suppressor = open_suppressor(name)
    if suppressor is None:
        raise HearingError(
            "Noise is not suppressed. Beside a running machine a good part of the commands is then "
            "misheard (benchmarks/results/hearing.md): run pip install 'bayhelper[rnnoise]' and "
            "leave suppressor = 'auto'."
        )
    suppressor.close()
    return f"{suppressor.name} loads"


def _voice(folder: Path) -> str:
    settings = load_settings(folder)
    with VoiceProcess(settings.voice_rate_wpm, settings.voice) as voice:
        sound = voice.render("Bay ready.")
        return f"speaks ({sound.length_s:.1f} s) with {voice.library or 'the system voice'}"


def _journal(folder: Path) -> str:
    """Opens it for writing, then reads every decision and folds it as a restart would."""
    with Journal.open(folder), History.open(folder) as history:
        damage = history.damage()
        if damage:
            raise damage
        jobs = history.jobs()
        count = sum(fold(history.decisions(job)).number for job in jobs)
        return f"{folder}: {len(jobs)} jobs, {count} decisions, all readable"


def _recordings(folder: Path) -> str:
    """Reads every kept clip and holds it against the checksum in the record."""
    clips, count, faults, forgotten = Clips(folder), 0, [], 0
    with History.open(folder) as history:
        for job in history.jobs():
            kept = tuple(clips_of(history.decisions(job)))
            if kept and clips.forgotten(job):
                forgotten += 1
                continue
            count += len(kept)
            found = ((clip.name, clips.fault(job, clip)) for clip in kept)
            faults += [f"{job}/{name} is {fault}" for name, fault in found if fault]
    if faults:
        more = f" and {len(faults) - MOST_NAMED} more" if len(faults) > MOST_NAMED else ""
        raise RecordError(
            f"{', '.join(faults[:MOST_NAMED])}{more}, of {count} in {folder / 'clips'}. Restore "
            "from a copy; transcripts and the rest of the record are whole."
        )
    gone = f"; those of {forgotten} job(s) were deleted" if forgotten else ""
    return f"{count} recordings, all as they were kept{gone}"


def _clock(folder: Path) -> str:
    now_utc = SystemClock().now_utc()
    if now_utc.year < 2026:
        raise RunError(f"The clock says {now_utc:%Y-%m-%d}. Set the date.")
    return f"{now_utc:%Y-%m-%d %H:%M} UTC"


def _record_time(folder: Path) -> str:
    now_utc = SystemClock().now_utc()
    with History.open(folder) as history:
        written_utc = [d.at_utc for job in history.jobs() for d in history.decisions(job)]
    if written_utc and max(written_utc) > now_utc:
        raise RunError(
            f"The clock says {now_utc:%Y-%m-%d %H:%M} UTC, but the record reaches to "
            f"{max(written_utc):%Y-%m-%d %H:%M}. If that was no --fast session, set the clock: "
            "panels would come due too late."
        )
    return "the record ends before the clock's time"


def _sound_card(folder: Path) -> str:
    devices = sound_devices()
    if not devices:
        raise HearingError("No sound card was found. Recordings and typed lines work all the same.")
    return f"{len(devices)} devices: {', '.join(devices)}"
