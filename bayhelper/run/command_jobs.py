"""`bayhelper jobs`, `show` and `export`: reading what was recorded."""

from __future__ import annotations

import argparse
import json
from datetime import datetime

from bayhelper.decide.fold import fold
from bayhelper.remember.clips import Clips, clips_of
from bayhelper.remember.codec import encode_decision
from bayhelper.remember.history import History
from bayhelper.run.settings import data_folder
from bayhelper.show.record import record
from bayhelper.show.summary import summary


def run_jobs(options: argparse.Namespace) -> int:
    """One line a job."""
    with History.open(data_folder(options.data)) as history:
        jobs = [fold(history.decisions(name)) for name in history.jobs()]
    if not jobs and not options.json:
        print("No jobs yet.")
    for job in jobs:
        if options.json:
            print(json.dumps(summary(job)))
            continue
        ended = f"closed {_clock(job.closed_at_utc)}" if job.closed_at_utc else "open"
        print(f"{job.id}  {_clock(job.opened_at_utc)}  {ended:24}  {job.plan.name}  {job.car}")
    return 0


def run_show(options: argparse.Namespace) -> int:
    """The record of one job."""
    folder = data_folder(options.data)
    with History.open(folder) as history:
        job = fold(history.decisions(options.job))
    if options.json:
        print(json.dumps(summary(job)))
        return 0
    clips = Clips(folder)
    found = {clip.name: clips.fault(job.id, clip) for clip in clips_of(job.decisions)}
    faults = {name: fault for name, fault in found.items() if fault}
    print(record(job, clip_faults=faults))
    if faults and not clips.forgotten(job.id):
        print(
            f"\n{len(faults)} of {len(found)} recordings are missing or damaged; "
            "'bayhelper check' names them."
        )
    return 0


def run_export(options: argparse.Namespace) -> int:
    """Every decision of one job with its events, one JSON line each."""
    with History.open(data_folder(options.data)) as history:
        for decision in history.decisions(options.job):
            print(encode_decision(decision))
    return 0


def _clock(instant: datetime) -> str:
    return instant.astimezone().strftime("%Y-%m-%d %H:%M")
