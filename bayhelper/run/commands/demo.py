"""`bayhelper demo`: a whole invented job, spoken by recordings, through the real ear."""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from statistics import mean, median
from tempfile import mkdtemp

from bayhelper.decide.replay import fold
from bayhelper.remember.history import History
from bayhelper.run.bay.playback import play, read_story
from bayhelper.run.bay.session import open_session
from bayhelper.run.clock import ManualClock
from bayhelper.run.parts import open_ear
from bayhelper.run.resources import demo_dir
from bayhelper.run.settings import FILE_NAME, load_settings
from bayhelper.show.record import record
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.errors import RunError

BEGAN_UTC = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
"""The demo's clock starts here, so that every run gives the same times."""
SETTINGS = """\
country = "gb"
technicians = ["Robin", "Maya"]
plan = "one_step"
body = "saloon"
batch = "5392"
car = "Harbour saloon, midnight green (invented)"
"""
"""The demo's bay: two people, and a car that does not exist."""

TROUBLE = frozenset("trial touched defect".split())
"""Commands that show that a panel was tried, or went wrong."""
COATING = frozenset("prepped laying covered all_round lapped trial levelled buffed checked".split())
"""Commands that a panel takes while it is coated."""


def run(options: argparse.Namespace) -> int:
    """Play the story into a new data folder and print what came of it."""
    folder = _folder(options.out or options.data)
    (folder / FILE_NAME).write_text(SETTINGS, encoding="utf-8")
    settings = load_settings(folder, environment={})
    story = read_story(options.story or demo_dir() / "story.toml")
    terminal = None if options.json else sys.stdout
    clock = ManualClock(BEGAN_UTC)
    with (
        open_ear(settings) as ear,
        open_session(
            folder,
            settings,
            ear=ear,
            player=FolderPlayer(folder / "prompts"),
            clock=clock,
            terminal=terminal,
            timeline_file=folder / "timeline.jsonl",
        ) as session,
    ):
        play(story, session, clock, fast=True, patience_s=settings.patience_s)
    text, counts = _close(folder)
    (folder / "record.txt").write_text(text + "\n", encoding="utf-8")
    if options.json:
        print((folder / "timeline.jsonl").read_text(encoding="utf-8"), end="")
        return 0
    print(f"\nUtterances per panel while coating: {counts}")
    print(f"Record, timeline, journal and prompts are in {folder}")
    return 0


def _folder(given: Path | None) -> Path:
    folder = given or Path(mkdtemp(prefix="bayhelper-demo-"))
    if folder.exists() and any(folder.iterdir()):
        raise RunError(f"{folder} is not empty. Name a new folder for the demo with --out.")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _close(folder: Path) -> tuple[str, str]:
    with History.open(folder) as history:
        jobs = history.jobs()
        if not jobs:
            raise RunError("Nothing of the story was understood: no job was opened.")
        job = fold(history.decisions(jobs[-1]))
    lines = (folder / "timeline.jsonl").read_text(encoding="utf-8").splitlines()
    heard = [row for row in map(json.loads, lines) if row["kind"] == "heard" and row["accepted"]]
    coating = Counter(
        row["slots"]["panel"]
        for row in heard
        if "panel" in row["slots"] and row["command"] in COATING
    )
    if not coating:
        return record(job, UTC), "none"
    troubled = {row["slots"].get("panel") for row in heard if row["command"] in TROUBLE}
    smooth = max((n for panel, n in coating.items() if panel not in troubled), default=0)
    most, count = coating.most_common(1)[0]
    spread = f"median {median(coating.values()):g}, mean {mean(coating.values()):.1f}"
    spread = f"{spread}, most {count} ({most.replace('_', ' ')})"
    return record(job, UTC), f"{spread}; where nothing was tried or went wrong at most {smooth}"
