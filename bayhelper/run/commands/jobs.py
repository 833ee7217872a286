"""`bayhelper jobs`, `show` and `export`: reading what was recorded."""

from __future__ import annotations

import argparse
import json
import sys
from datetime import datetime

from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import fold
from bayhelper.remember.clips import Clips, clips_of
from bayhelper.remember.codec import plain_decision
from bayhelper.remember.history import History
from bayhelper.run.settings import data_folder
from bayhelper.show.record import record
from bayhelper.show.summary import summary
from bayhelper.terms.errors import BayhelperError


def run_jobs(options: argparse.Namespace) -> int:
    """One line a job, also for one that cannot be read; then the exit code is 1."""
    with History.open(data_folder(options.data)) as history:
        names, faulty = history.jobs(), False
        if not names and not options.json:
            print("No jobs yet.")
        for name in names:
            try:
                job = fold(history.decisions(name))
            except BayhelperError as error:
                faulty = True
                print(json.dumps({"job": name, "fault": str(error)}) if options.json else error)
                continue
            print(json.dumps(summary(job)) if options.json else _line(job))
        damage = history.damage()
    if damage:
        raise damage
    return int(faulty)


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
    """Every decision of one job with its events, one JSON line each.

    What cannot be read is told and left out; then the exit code is 1.
    """
    with History.open(data_folder(options.data)) as history:
        decisions, faults = history.readable(options.job)
    for decision in decisions:
        print(json.dumps(plain_decision(decision)))
    for fault in faults:
        print(f"bayhelper: {fault}", file=sys.stderr)
    return int(bool(faults))


def _line(job: Job) -> str:
    ended = f"closed {_clock(job.closed_at_utc)}" if job.closed_at_utc else "open"
    return f"{job.id}  {_clock(job.opened_at_utc)}  {ended:24}  {job.plan.name}  {job.car}"


def _clock(instant: datetime) -> str:
    return instant.astimezone().strftime("%Y-%m-%d %H:%M")
