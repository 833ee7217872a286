"""`bayhelper photos`: photographs kept with a job, each at its panel and stage."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from bayhelper.decide.job.photographs import is_kept
from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import apply, fold
from bayhelper.remember.history import History
from bayhelper.remember.journal import Journal
from bayhelper.remember.pictures import Pictures, pictures_in
from bayhelper.run.bay.timekeeping import clock_after
from bayhelper.run.bay.watches import keep_picture
from bayhelper.run.settings import data_folder
from bayhelper.terms.events import Decision, PhotoKept


def run(options: argparse.Namespace) -> int:
    """Keep what is new in the folder that is named, then one line a photograph.

    The exit code is 1 when one that was kept is missing or was altered.
    """
    folder = data_folder(options.data)
    with History.open(folder) as history:
        job = fold(history.decisions(options.job))
    if options.source is not None:
        job = _keep(folder, job, options.source)
    pictures = Pictures(folder)
    faulty = [p for p in job.photos if not pictures.is_whole(job.id, p.file, p.sha256)]
    for photo in job.photos:
        print(json.dumps(_fields(photo)) if options.json else _line(photo))
    if not job.photos and not options.json:
        print("No photographs with this job. Give their folder: --from FOLDER.")
    for photo in faulty:
        print(f"{photo.file}: missing, or altered since it was kept")
    return int(bool(faulty))


def _keep(folder: Path, job: Job, source: Path) -> Job:
    pictures = Pictures(folder)
    clock, _ = clock_after(job)
    with Journal.open(folder) as journal:
        for picture in pictures_in(source, None):
            if is_kept(job, picture.sha256):
                continue
            now_utc = clock.now_utc()
            decision = Decision(
                job=job.id,
                number=job.number + 1,
                at_utc=now_utc,
                cause="repair",
                events=(keep_picture(pictures, job, picture, now_utc),),
            )
            journal.append(decision)
            job = apply(job, decision)
    return job


def _fields(photo: PhotoKept) -> dict[str, object]:
    return {
        "file": photo.file,
        "taken_at_utc": photo.taken_at_utc.isoformat(),
        "time_from": photo.time_from,
        "stage": photo.stage,
        "panel": photo.panel,
        "sha256": photo.sha256,
    }


def _line(photo: PhotoKept) -> str:
    where = photo.panel.replace("_", " ") or "the car"
    stage = photo.stage.replace("_", " ") or "before the job"
    told = "" if photo.time_from == "exif" else ", time of the file"
    return f"{photo.file}: {where}, {stage}, {photo.taken_at_utc:%Y-%m-%d %H:%M} UTC{told}"
