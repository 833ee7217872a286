"""`bayhelper jobs`, `show` and `export`: reading what was recorded."""

from __future__ import annotations

import argparse
import json
from datetime import datetime

from bayhelper.decide.fold import fold
from bayhelper.remember.codec import encode_decision
from bayhelper.remember.history import History
from bayhelper.run.places import data_folder
from bayhelper.show.record import record
from bayhelper.show.summary import summary


def run_jobs(options: argparse.Namespace) -> int:
    """One line a job."""
    with History.open(data_folder(options.data)) as history:
        lines = history.jobs()
    if not lines and not options.json:
        print("No jobs yet.")
    for line in lines:
        if options.json:
            print(json.dumps(line.as_dict()))
        else:
            closed = f"closed {_clock(line.closed_at_utc)}" if line.closed_at_utc else "open"
            opened = _clock(line.opened_at_utc)
            print(f"{line.job}  {opened}  {closed:24}  {line.plan:16}  {line.body:10}  {line.car}")
    return 0


def run_show(options: argparse.Namespace) -> int:
    """The record of one job."""
    with History.open(data_folder(options.data)) as history:
        job = fold(history.decisions(options.job))
    if options.json:
        print(json.dumps(summary(job)))
    else:
        print(record(job))
    return 0


def run_export(options: argparse.Namespace) -> int:
    """Every decision of one job with its events, one JSON line each."""
    with History.open(data_folder(options.data)) as history:
        for decision in history.decisions(options.job):
            print(encode_decision(decision))
    return 0


def _clock(instant: datetime) -> str:
    return instant.astimezone().strftime("%Y-%m-%d %H:%M")
