"""What goes wrong with a voice, made to go wrong for real: processes killed, hung and missing."""

import os
import shutil
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import espeakng_loader
import pytest

from bayhelper.speak import voice_process
from bayhelper.speak.voice_process import VoiceProcess
from bayhelper.terms.errors import SpeechError

LINE = "Roof on. Wipe in five."
NEEDS_PROC = pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="needs /proc")


def espeak_files(pid: int) -> set[Path]:
    """The eSpeak libraries that a process has mapped, as the kernel tells."""
    lines = Path(f"/proc/{pid}/maps").read_text().splitlines()
    return {Path(line.split()[-1]) for line in lines if "espeak" in line and ".so" in line}


def eventually(test, seconds: float = 20.0) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if test():
            return True
        time.sleep(0.02)
    return False


@NEEDS_PROC
def test_only_the_library_of_the_wheel_is_mapped_even_where_the_system_has_its_own():
    """Seen from outside the process, by the kernel; the worker is not asked."""
    with VoiceProcess() as voice:
        assert voice._spare is not None
        pid = voice._spare.pid
        assert eventually(lambda: espeak_files(pid))
        wheel = Path(espeakng_loader.get_library_path()).resolve().parent
        assert {file.resolve().parent for file in espeak_files(pid)} == {wheel}


@NEEDS_PROC
@pytest.mark.skipif(shutil.which("ldconfig") is None, reason="needs ldconfig")
def test_the_system_has_a_library_and_serves_when_it_is_asked_for(monkeypatch):
    known = subprocess.run(["ldconfig", "-p"], capture_output=True, text=True, check=True).stdout
    if "libespeak-ng" not in known:
        pytest.skip("the system has no eSpeak NG of its own")
    monkeypatch.setenv("BAYHELPER_SYSTEM_VOICE", "1")
    with VoiceProcess() as voice:
        assert voice.render(LINE).length_s > 0.5
        assert voice.library and "espeakng_loader" not in voice.library


def test_a_process_that_died_while_it_waited_costs_no_sentence():
    with VoiceProcess() as voice:
        assert voice._spare is not None
        os.kill(voice._spare.pid, signal.SIGKILL)
        assert eventually(lambda: voice._spare.poll() is not None)
        assert voice.render(LINE).length_s > 0.5


def test_a_voice_that_hangs_is_killed_and_the_next_sentence_is_spoken(tmp_path, monkeypatch):
    good = sys.executable
    hung = tmp_path / "python"
    hung.write_text(f"#!/bin/sh\necho $$ >> {tmp_path}/pids\nexec sleep 60\n")
    hung.chmod(hung.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setattr("sys.executable", str(hung))
    with VoiceProcess(timeout_s=0.5) as voice:
        with pytest.raises(SpeechError, match=r"over 0\.5 s"):
            voice.render(LINE)
        pids = [int(line) for line in (tmp_path / "pids").read_text().split()]
        assert pids and all(not Path(f"/proc/{pid}").exists() for pid in pids)
        monkeypatch.setattr("sys.executable", good)
        voice._timeout_s = 20
        assert voice.render(LINE).length_s > 0.5


def test_a_system_that_starts_no_process_is_no_crash(monkeypatch):
    monkeypatch.setattr("sys.executable", "/nowhere/python")
    with VoiceProcess() as voice, pytest.raises(SpeechError, match="starts no process"):
        voice.render(LINE)


def test_an_unknown_voice_is_refused_and_not_replaced_in_silence():
    voice = VoiceProcess(voice="no such voice")
    with voice, pytest.raises(SpeechError, match="no such voice"):
        voice.render(LINE)


@pytest.mark.parametrize("text", ["", "  "])
def test_no_words_are_no_sentence(text):
    with VoiceProcess() as voice, pytest.raises(SpeechError, match="no words"):
        voice.render(text)


def test_the_same_words_sound_the_same_in_every_process():
    with VoiceProcess() as first, VoiceProcess() as second:
        assert first.render(LINE) == second.render(LINE)


def test_a_voice_speaks_at_the_rate_that_was_set():
    with VoiceProcess(rate_wpm=120) as slow, VoiceProcess(rate_wpm=240) as quick:
        assert slow.render(LINE).length_s > 1.4 * quick.render(LINE).length_s


def test_what_is_rendered_ahead_is_there_when_it_is_wanted():
    texts = ["Roof. Wipe it off now.", "Bonnet closing, forty seconds."]
    with VoiceProcess() as voice:
        voice.render_ahead([*texts, ""])  # an empty one fails, and harms nothing
        assert eventually(lambda: all(text in voice._kept for text in texts))
        assert eventually(lambda: not voice._pending)
        began = time.perf_counter()
        ahead = [voice.render(text) for text in texts]
        assert time.perf_counter() - began < 0.02
    with VoiceProcess() as other:
        assert ahead == [other.render(text) for text in texts]


def test_a_sentence_that_is_just_being_rendered_is_not_rendered_twice():
    with VoiceProcess() as voice:
        voice.render_ahead([LINE])
        assert voice.render(LINE) is voice.render(LINE)
        assert next(voice._numbers) == 2


def test_an_urgent_sentence_does_not_queue_behind_those_rendered_ahead():
    with VoiceProcess() as voice:
        voice.render_ahead([f"Panel {number} closing." for number in range(30)])
        voice.render("Roof overdue.")
        assert len(voice._kept) < 15


def test_only_the_latest_sentences_are_kept(monkeypatch):
    monkeypatch.setattr(voice_process, "KEPT", 2)
    with VoiceProcess() as voice:
        first = voice.render("one")
        voice.render("two")
        assert voice.render("one") is first
        voice.render("three")
        assert list(voice._kept) == ["one", "three"]


def test_closing_ends_every_process_and_leaves_no_file():
    voice = VoiceProcess()
    with voice:
        voice.render_ahead([f"Panel {number}." for number in range(20)])
        assert eventually(lambda: voice._working)
        pids = [worker.pid for worker in voice._working]
        assert voice._spare is not None
        pids.append(voice._spare.pid)
        folder = Path(voice._folder.name)
    assert all(not Path(f"/proc/{pid}").exists() for pid in pids)
    assert not folder.exists()
    voice.render_ahead(["Roof."])
    with pytest.raises(SpeechError, match="was closed"):
        voice.render("Roof.")
