"""What one more of each thing costs: it is added to a copy of the tree, tried, and counted."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.additions import ALERT, BODY, COMMAND, ENGINE, EVENT, SETTING

ROOT = Path(__file__).parents[2]
RECORDING = ROOT / "audio_fixtures" / "commands" / "ask_where_1.flac"
TAPED = """\
open a new job one step polish
start the wash
start decontamination
start inspection
taped the edge of the roof
undo that
"""
FACT = """
from datetime import UTC, datetime
from bayhelper.decide.job.fold import CHANGES
from bayhelper.remember.codec import decode_event, encode_event
from bayhelper.terms import events as ev
taped = ev.EdgeTaped(at_utc=datetime(2026, 3, 2, tzinfo=UTC), panel="roof")
assert decode_event(encode_event(taped)) == taped and ev.EdgeTaped in CHANGES
print("kept")
"""
REMINDER = """
from bayhelper.decide.due.deadlines import KINDS
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.terms.saying import Called, DueAlert
kind = KINDS["long_machining"]
called = Called(kind.name, "roof", 0.0, 0.0, kind.urgency, "")
alert = DueAlert(called=(called,), neighbours=(), reason=kind.reason)
print(words(alert, Names(load_body("saloon"), "uk"), "teaching"))
"""
NAMED = """
from pathlib import Path
from bayhelper.run.settings import load_settings
print(load_settings(Path("nowhere"), {"BAYHELPER_BAY_NAME": "Bay two"}).bay_name)
"""


@pytest.fixture
def tree(tmp_path):
    """A copy of what is installed."""
    for folder in ("bayhelper", "grammars"):
        shutil.copytree(
            ROOT / folder, tmp_path / folder, ignore=shutil.ignore_patterns("__pycache__")
        )
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def add(tree, edits):
    """Write the addition; gives the files that were touched."""
    for edit in edits:
        file = tree / edit.file
        text = file.read_text() if file.exists() else ""
        assert edit.before in text, f"{edit.file} no longer holds {edit.before!r}"
        head, landmark, tail = text.rpartition(edit.before) if edit.before else (text, "", "")
        file.write_text(head + edit.text + landmark + tail)
    return {edit.file for edit in edits}


def run(tree, *arguments, typed="", **environment):
    inherited = {key: value for key, value in os.environ.items() if not key.startswith("COV")}
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=tree,
        input=typed,
        env={**inherited, "PYTHONPATH": str(tree), **environment},  # a copy is no part of the house
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def work(tree, typed):
    data = str(tree / "data")
    return run(tree, "-m", "bayhelper", "work", "--typed", "--fast", "--data", data, typed=typed)


def test_a_command_costs_five_files(tree):
    assert "taped the edge" not in run(tree, "-m", "bayhelper", "phrases")
    assert len(add(tree, COMMAND)) <= 5
    told = work(tree, TAPED)
    assert (
        "EdgeTaped" in told and "> Roof edge taped." in told and "> Roof. Tape taken back." in told
    )
    assert "taped the edge of the" in run(tree, "-m", "bayhelper", "phrases")
    assert "taped the" not in run(tree, "-m", "bayhelper", "phrases", "--stage", "wash")


def test_an_event_costs_two_files(tree):
    assert len(add(tree, EVENT)) <= 2
    assert run(tree, "-c", FACT).strip() == "kept"


def test_an_alert_costs_two_files(tree):
    assert len(add(tree, ALERT)) <= 2
    assert run(tree, "-c", REMINDER).strip() == "Roof. Half an hour on it. It gets hot."


def test_a_body_costs_one_file(tree):
    assert len(add(tree, BODY)) == 1
    assert "kart" in run(tree, "-m", "bayhelper", "body", "check", "kart")


def test_an_engine_costs_four_files(tree):
    assert len(add(tree, ENGINE)) <= 4
    told = run(tree, "-m", "bayhelper", "hear", "--engine", "parrot", str(RECORDING))
    assert "workshop copy where are we" in told


def test_a_setting_costs_one_file_besides_who_reads_it(tree):
    assert len(add(tree, SETTING)) == 1
    assert run(tree, "-c", NAMED).strip() == "Bay two"
