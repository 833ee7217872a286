"""The story becomes recordings, and every person of it has a voice of their own."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from training.make_fixtures import demo_fixtures, make
from training.speakers import RecipeError
from training.synthesisers import Synthesisers


def test_the_story_becomes_recordings_and_only_changes_are_made_again(tmp_path: Path) -> None:
    if shutil.which("flite") is None:
        pytest.skip("flite is not installed")
    story = {
        "voices": {"Ann": "flite:slt", "Ben": "flite:rms"},
        "line": [
            {"file": "a.flac", "who": "Ann", "say": "{address} roof is on"},
            {"file": "b.flac", "who": "Ben", "say": "Roof levelled."},
        ],
    }
    fixtures = demo_fixtures(story, "bay helper")
    assert [f.words for f in fixtures] == ["bay helper roof is on", "roof levelled"]
    assert fixtures[0].spoken == "bay helper, roof is on"
    listing, tools = tmp_path / "list.toml", Synthesisers(tmp_path)
    assert make(fixtures, listing, "line", tools, again=False) == 2
    assert make(fixtures, listing, "line", tools, again=False) == 0
    assert make(fixtures[:1], listing, "line", tools, again=True) == 1
    assert not (tmp_path / "b.flac").exists()


def test_a_person_without_a_voice_is_refused() -> None:
    rows = [{"file": f"{n}.flac", "who": f"person {n}", "say": "yes"} for n in range(4)]
    with pytest.raises(RecipeError, match="no voice for 'person 3'"):
        demo_fixtures({"line": rows}, "bay helper")
