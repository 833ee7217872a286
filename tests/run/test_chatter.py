"""The setting `chatter` reaches what is said, and changes nothing of what is recorded."""

from __future__ import annotations

import io

import pytest

from bayhelper.remember.history import History
from bayhelper.run.cli import main

LINES = """open a new job coat only on a saloon
start inspection
start the panel wipe
roof prepped
bonnet is on
no leave it
roof is on all round
wait 5 minutes
where are we
"""


def heard_at(level: str, folder, monkeypatch, capsys) -> tuple[str, list[str]]:
    """What the terminal shows of the typed job at a level, and the kinds of facts recorded."""
    folder.mkdir()
    (folder / "settings.toml").write_text(f'chatter = "{level}"')
    monkeypatch.setattr("sys.stdin", io.StringIO(LINES))
    assert main(["work", "--typed", "--fast", "--data", str(folder)]) == 0
    with History.open(folder) as history:
        decisions = history.decisions(history.jobs()[0])
    kinds = [type(event).__name__ for decision in decisions for event in decision.events]
    return capsys.readouterr().out, [kind for kind in kinds if kind != "Spoken"]


@pytest.fixture
def told(tmp_path, monkeypatch, capsys):
    levels = ("quiet", "normal", "teaching")
    return {level: heard_at(level, tmp_path / level, monkeypatch, capsys) for level in levels}


def test_each_level_says_what_it_should(told):
    quiet, normal, teaching = (told[level][0] for level in ("quiet", "normal", "teaching"))
    for acknowledgement in ("Roof prepped.", "Roof on, all round."):
        assert acknowledgement not in quiet
        assert acknowledgement in normal and acknowledgement in teaching
    assert quiet.count("(noted tone)") > normal.count("(noted tone)")
    for needed in (
        "Bonnet has no panel wipe. Wipe it, or say do it anyway.",
        "Roof. Wipe it off now.",
        "Coating. Zero of",
        "no flame",
    ):
        assert needed in quiet and needed in normal and needed in teaching
    for reason in ("The coating must meet bare clear coat.", "Later it grabs."):
        assert reason in teaching
        assert reason not in quiet and reason not in normal
    assert told["quiet"][1] == told["normal"][1] == told["teaching"][1]
