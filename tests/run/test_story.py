"""A whole job by two people, from its recordings to the closed record, through the real ear."""

import json
import tomllib
from pathlib import Path

import pytest

from bayhelper.run.cli import main
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from tests.known import known

DEMO = Path(__file__).parents[2] / "audio_fixtures" / "demo"
LINES = tomllib.loads((DEMO / "recordings.toml").read_text(encoding="utf-8"))["line"]
DICTATED = "015.flac"


@pytest.fixture(scope="module")
def timeline(tmp_path_factory):
    folder = tmp_path_factory.mktemp("story") / "demo"
    assert main(["demo", "--out", str(folder)]) == 0
    rows = (folder / "timeline.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(row) for row in rows]


def test_each_line_is_understood_as_its_words_mean(timeline):
    """What the words mean comes from the grammar, not from the recording."""
    settings = Settings(technicians=("Robin", "Maya"))
    offer = build_library().offer(build_scope(settings))
    heard = {row["origin"]: row for row in timeline if row["kind"] == "heard"}
    wrong = []
    for line in LINES:
        if line["file"] == DICTATED:
            assert not heard[DICTATED]["accepted"]
            continue
        meant = known(offer.match(line["words"].split()).command)
        row = heard.get(line["file"], {"accepted": False})
        if not row["accepted"] or (row["command"], row["slots"]) != (meant.name, meant.slots):
            wrong.append((line["words"], row.get("text"), row.get("why")))
    assert wrong == []


def test_the_job_ends_closed_with_every_panel_buffed_and_nothing_forgotten(timeline):
    events = [row for row in timeline if row["kind"] == "event"]
    laid = {row["panel"] for row in events if row["event"] == "Covered"}
    buffed = {row["panel"] for row in events if row["event"] == "Buffed"}
    assert laid == buffed and len(laid) >= 14
    assert events[-1]["event"] == "JobClosed"
    (note,) = [row for row in events if row["event"] == "NoteClipKept"]
    assert note["clip"].endswith(".flac") and note["transcript"]


def test_what_a_stopwatch_cannot_do_was_said(timeline):
    """Wipe-off, a dirty pad and the look for high spots, each in its time."""
    topics = {row["topic"] for row in timeline if row["kind"] == "said"}
    assert {"wipe_now", "dirty_pad", "pad_due", "look_again", "bare", "closing"} <= topics
