"""The ear's processes: they read real sound, outlive Ctrl-C, and end with whoever started them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from bayhelper.hear.capture.recording import whole_recording
from bayhelper.hear.child import Child
from bayhelper.hear.ear_process import Broken, HearingReply, HearingRequest, Ready, serve_decoding
from bayhelper.run.parts import build_scope, open_decoding
from bayhelper.run.settings import Settings

ROOT = Path(__file__).parents[2]
COMMANDS = ROOT / "audio_fixtures" / "commands"
STARTER = """
import time
from functools import partial
from bayhelper.hear.child import Child
from bayhelper.hear.ear_process import serve_decoding, serve_listening
from bayhelper.run.clock import steady_s
from bayhelper.run.parts import open_decoding
from bayhelper.run.settings import Settings

if __name__ == "__main__":
    decoding = Child(serve_decoding, partial(open_decoding, Settings()))
    listening = Child(serve_listening, (), steady_s)
    decoding.pipe.recv()
    print(decoding.pid, listening.pid, flush=True)
    time.sleep(60)
"""


def answer(child, kind):
    assert child.pipe.poll(30), "no answer"
    report = child.pipe.recv()
    assert isinstance(report, kind), report
    return report


def test_a_command_is_read_in_the_other_process_and_ctrl_c_does_not_end_it():
    settings = Settings()
    scope = build_scope(settings)
    with Child(serve_decoding, partial(open_decoding, settings)) as child:
        answer(child, Ready)
        os.kill(child.pid, signal.SIGINT)
        utterance = whole_recording(COMMANDS / "open_job_2.flac")
        child.send(HearingRequest(1, replace(utterance, speaker="Robin"), scope, False))
        hearing = answer(child, HearingReply).hearing
    assert hearing.accepted
    assert hearing.command.name == "open_job"
    assert hearing.command.slots == {"plan": "coat_only", "body": "hatchback", "by": "Robin"}


def test_an_engine_that_cannot_be_opened_says_why():
    settings = Settings(engine="vosk", vosk_model="/nowhere")
    with Child(serve_decoding, partial(open_decoding, settings)) as child:
        assert "/nowhere" in answer(child, Broken).text


def children_of(pid):
    listed = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(pid)], check=False, capture_output=True, text=True
    )
    return [int(word) for word in listed.stdout.split()]


def alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
def test_nothing_is_left_over_when_the_helper_is_killed(tmp_path):
    script = tmp_path / "starter.py"
    script.write_text(STARTER)
    starter = subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    assert starter.stdout is not None
    pids = [int(word) for word in starter.stdout.readline().split()]
    pids += [grandchild for pid in pids for grandchild in children_of(pid)]
    starter.kill()
    starter.communicate()
    end_s = time.monotonic() + 10
    while any(map(alive, pids)) and time.monotonic() < end_s:
        time.sleep(0.1)
    assert len(pids) >= 2 and not any(map(alive, pids))
