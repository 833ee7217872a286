"""`bayhelper notes`: the notes of a job, and their recordings read anew."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bayhelper.decide.job.state import Job, Note
from bayhelper.decide.replay import apply, fold
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.engines.transcribe import EngineTranscriber, Transcriber, WhisperTranscriber
from bayhelper.remember.clips import Clips
from bayhelper.remember.history import History
from bayhelper.remember.journal import Journal
from bayhelper.run.bay.timekeeping import clock_after
from bayhelper.run.settings import Settings, data_folder, load_settings
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import Decision, NoteTranscribed


def run(options: argparse.Namespace) -> int:
    """One line a note; with `again` each is first read anew, and that is recorded beside the old.

    The exit code is 1 when a recording could not be read.
    """
    folder = data_folder(options.data)
    with History.open(folder) as history:
        job = fold(history.decisions(options.job))
    faults: list[str] = []
    if options.again:
        job, faults = _again(folder, job)
    for note in job.notes:
        print(json.dumps(_fields(note)) if options.json else _line(note))
    if not job.notes and not options.json:
        print("No notes in this job.")
    for fault in faults:
        print(fault)
    return int(bool(faults))


def _again(folder: Path, job: Job) -> tuple[Job, list[str]]:
    """The job with every note that has recordings read anew, and what could not be read."""
    settings, clips, faults = load_settings(folder), Clips(folder), []
    clock, _ = clock_after(job)
    with Journal.open(folder) as journal, open_transcriber(settings) as transcriber:
        for note in job.notes:
            try:
                sounds = [clips.read(job.id, clip) for clip in note.clips]
            except RecordError as error:
                faults.append(f"{note.id}: {error}")
                continue
            text = " ".join(filter(None, (transcriber.transcribe(sound) for sound in sounds)))
            if not text:
                continue
            now_utc = clock.now_utc()
            told = NoteTranscribed(
                at_utc=now_utc, note=note.id, transcript=text, made_by=transcriber.name
            )
            decision = Decision(
                job=job.id, number=job.number + 1, at_utc=now_utc, cause="repair", events=(told,)
            )
            journal.append(decision)
            job = apply(job, decision)
    return job, faults


@contextmanager
def open_transcriber(settings: Settings) -> Iterator[Transcriber]:
    """faster-whisper where a model of it is set, else PocketSphinx, which knows some English."""
    if settings.whisper_model:
        yield WhisperTranscriber(Path(settings.whisper_model))
        return
    with PocketSphinxEngine(Pronouncer()) as engine:
        yield EngineTranscriber(engine)


def _fields(note: Note) -> dict[str, object]:
    return {
        "note": note.id,
        "panel": note.panel,
        "started_at_utc": note.started_at_utc.isoformat(),
        "text": note.text,
        "transcripts": list(note.transcripts),
        "again": note.again,
        "clips": list(note.clips),
    }


def _line(note: Note) -> str:
    about = f" ({note.panel.replace('_', ' ')})" if note.panel else ""
    return f"{note.id}{about}, {note.started_at_utc:%Y-%m-%d %H:%M} UTC: {note.text or 'no words'}"
