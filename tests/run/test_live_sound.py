"""The whole live path through real sound: PortAudio, ALSA and a PulseAudio server of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.run import virtual_bay

ROOT = Path(__file__).parents[2]
lacking = virtual_bay.missing()
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(bool(lacking), reason=f"no virtual bay without {lacking}"),
]


@pytest.fixture
def measured(tmp_path):
    def one(part, n):
        file = tmp_path / "found.json"
        command = [sys.executable, "-m", "benchmarks.live", "--only", part, "--json", str(file)]
        done = subprocess.run(
            [*command, "--n", str(n)],
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
        )
        assert done.returncode == 0, done.stderr[-2000:]
        return json.loads(file.read_text())[part]

    return one


def test_prompts_that_are_commands_never_command_us(measured):
    found = measured("own", 8)
    assert found["prompts"] == 8 and found["taken"] == []


def test_a_command_is_heard_200_ms_after_a_prompt(measured):
    found = measured("after", 5)
    assert found["right"] >= 4, found["missed"]


def test_a_command_over_a_prompt_is_taken_or_answered(measured):
    found = measured("over", 5)
    assert found["wrong"] == 0
    assert found["taken"] + found["again"] >= 4, found["dropped_as"]


def test_a_microphone_that_is_pulled_out_is_told_and_comes_back(measured):
    found = measured("killed", 1)
    assert found["noticed_after_s"] < 4
    assert found["revived_after_s"] < 8
    assert found["command_heard_after"]
    assert any("cannot hear" in text for text in found["said"])


def test_alerts_are_on_time_while_speech_is_read(measured):
    found = measured("alerts", 60)
    assert found["utterances_read"] >= 2
    assert sorted(found["late_ms"])[int(0.99 * 60) - 1] < 100


def test_prompts_are_understood_by_a_recogniser_that_knows_nothing_of_them(measured):
    found = measured("read", 3)
    assert found["words"] > 20 and found["wer"] < 0.6
