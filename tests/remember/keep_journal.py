"""Keeps a journal of the present form, with what its fold is, for `test_old_journals.py`.

    python -m tests.remember.keep_journal NAME

The job in it holds every event there is. Written are NAME.sqlite3.gz and NAME.json in
tests/remember/journals; nothing that lies there is overwritten.
"""

from __future__ import annotations

import gzip
import json
import sqlite3
import sys
import tempfile
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from bayhelper.decide.replay import apply, fold
from bayhelper.remember.codec import event_types
from bayhelper.remember.history import History
from bayhelper.remember.journal import FILE_NAME, Journal
from bayhelper.show.summary import summary
from bayhelper.terms import events as ev
from tests.decide.worker import Worker

JOURNALS = Path(__file__).parent / "journals"
LINES = """
start_stage stage=intake; set_air_temp temp_c=21; set_humidity humidity_percent=50
film_reading panel=roof film_um=110; flag_panel panel=bonnet flag=repainted
start_stage stage=wash; start_dwell agent=pre_rinse_foam; wait 120; end_dwell; undo
end_dwell agent=pre_rinse_foam; pause_job; wait 60; resume_job; sleep; wake
start_stage stage=decontamination; start_dwell agent=iron_remover; wait 400; answered
end_dwell agent=iron_remover; start_stage stage=inspection; set_panel_temp temp_c=22 panel=roof
start_stage stage=correction; start_panel panel=roof; polish_on; section_done; section_done
section_done; section_done; polish_on; insist; pad_cleaned; section_done; residue_left panel=roof
wait 60; residue_wiped panel=roof; finish_panel panel=roof; pad_changed; finish_stage
start_stage stage=panel_wipe; prepped panel=roof; touched panel=roof; prepped panel=roof
prepped panel=bonnet; wait 9000; prepped panel=roof; prepped panel=bonnet
start_stage stage=coating; laying panel=roof half=left; wait 60; covered panel=roof half=left
laying panel=roof half=right; wait 60; covered panel=roof half=right all_round=true
wait 100; trial result=wet panel=roof half=left; set_humidity humidity_percent=70; wait 40
trial result=clean panel=roof half=left; more_time panel=roof half=left minutes=1; wait 30
levelled panel=roof half=left; levelled panel=roof half=right all_round=true; towels_changed
applicator_changed; buffed panel=roof; laying panel=bonnet; wait 120; covered panel=bonnet
lapped panel=bonnet neighbour=roof; that_was_wrong; lapped panel=bonnet neighbour=roof; wait 500
levelled panel=bonnet all_round=true; buffed panel=bonnet; wait 700; checked panel=roof
defect panel=roof kind=high_spot place=front_edge; defect_fixed panel=roof; take_note panel=roof
end_note; ask_where; wait 4000; start_layer layer=2; prepped panel=bonnet; laying panel=bonnet
wait 120; covered panel=bonnet; wait 280; levelled panel=bonnet; wait 9000
defect panel=bonnet kind=high_spot; back_to_correction panel=bonnet; close_job; yes
"""
"""Two layers on a car of two panels; what is said of it is refused here and there, as in a bay."""


def worked() -> tuple[ev.Decision, ...]:
    """The decisions of a job with every fact, also those that no command makes."""
    worker = Worker(plan="correction_coat")
    for line in LINES.replace("\n", ";").split(";"):
        command = line.strip()
        if command.startswith("wait "):
            worker.wait(float(command.removeprefix("wait ")))
        elif command:
            worker.say(command)
        if command == "end_note":
            _heard_and_seen(worker)
    return worker.it.decisions


def _heard_and_seen(worker: Worker) -> None:
    """What comes from a microphone, a camera, the clock, the settings and an old note."""
    now = worker.now_utc
    note = worker.it.notes[-1].id
    sha = "0" * 64
    facts = (
        ev.SpeechHeard(
            at_utc=now, by="Ada", utterance="u1", text="end of note", command="end_note",
            slots={"by": "Ada"}, accepted=True, why="addressed", confidence=0.9, engine="vosk",
            clip="u1.flac", clip_sha256=sha,
        ),
        ev.NoteClipKept(
            at_utc=now, note=note, clip="n1.flac", length_s=2.5, transcript="a stone chip",
            clip_sha256=sha,
        ),
        ev.NoteTranscribed(at_utc=now, note=note, transcript="a stone chip", made_by="again"),
        ev.PhotoKept(
            at_utc=now, file="p1.jpg", sha256=sha, taken_at_utc=now - timedelta(seconds=9),
            time_from="exif", stage="coating", panel="roof",
        ),
        ev.BatchRead(at_utc=now, batch="4072"),
        ev.Spoken(at_utc=now, topic="note_kept", text="Note kept."),
        ev.ClockSet(at_utc=now, step_s=3600.0),
    )  # fmt: skip
    decision = ev.Decision(
        job=worker.it.id, number=worker.it.number + 1, at_utc=now, cause="utterance", events=facts
    )
    worker.job = apply(worker.it, decision)


def keep(decisions: tuple[ev.Decision, ...], name: str) -> None:
    """Write them as a journal, packed small, and the state of their fold beside it."""
    with tempfile.TemporaryDirectory() as folder:
        with Journal.open(Path(folder)) as journal:
            for decision in decisions:
                journal.append(decision)
        with closing(sqlite3.connect(Path(folder) / FILE_NAME)) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            connection.execute("PRAGMA journal_mode = DELETE")
            connection.execute("VACUUM")
        content = (Path(folder) / FILE_NAME).read_bytes()
        with History.open(Path(folder)) as history:
            folds = {job: summary(fold(history.decisions(job))) for job in history.jobs()}
    (JOURNALS / f"{name}.sqlite3.gz").open("xb").write(gzip.compress(content, mtime=0))
    with (JOURNALS / f"{name}.json").open("x", encoding="utf-8") as file:
        json.dump(folds, file, indent=1, sort_keys=True)
        file.write("\n")


if __name__ == "__main__":
    made = worked()
    missing = set(event_types()) - {type(event).__name__ for one in made for event in one.events}
    if missing:
        sys.exit(f"The job has no {', '.join(sorted(missing))}. Add lines that make them.")
    keep(made, sys.argv[1])
