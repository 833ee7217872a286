"""Kept recordings against their checksums: whole, changed, missing, deleted on purpose."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bayhelper.decide.replay import fold
from bayhelper.hear.capture.recording import whole_recording
from bayhelper.remember.clips import NO_CLIP, Clip, Clips, clips_of
from bayhelper.remember.history import History
from bayhelper.run.bay.session import open_session
from bayhelper.run.cli import main
from bayhelper.run.clock import ManualClock
from bayhelper.run.parts import TypedEar
from bayhelper.run.selfcheck import _recordings, _try
from bayhelper.run.settings import Settings
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.events import NoteClipKept, SpeechHeard
from bayhelper.terms.sound import Sound
from tests.known import known_as

NOW_UTC = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
RECORDING = Path(__file__).parents[2] / "audio_fixtures" / "demo" / "001.flac"
STEPS = (
    "open a new job",
    "take a note",
    "the scratch on the tailgate stays",
    "end of note",
    "read back the note",
)
"""Typed, each with a recording at its side: here it matters what is kept, not what is heard."""


@pytest.fixture
def folder(tmp_path):
    """A job with a recording of every command, and one of a note."""
    keep(tmp_path)
    return tmp_path


def keep(folder, before=lambda step: None):
    with open_session(
        folder,
        Settings(),
        ear=TypedEar(),
        player=FolderPlayer(folder / "prompts"),
        clock=ManualClock(NOW_UTC),
    ) as session:
        for step in STEPS:
            before(step)
            session.hear(replace(whole_recording(RECORDING), typed=step))


def kept(folder):
    with History.open(folder) as history:
        (job,) = history.jobs()
        return job, history.decisions(job)


def state(folder):
    return _try("recordings", _recordings, folder, "warn")


def test_every_recording_is_named_in_the_record_with_its_checksum(folder):
    job, decisions = kept(folder)
    clips = list(clips_of(decisions))
    files = sorted((folder / "clips" / job).iterdir())
    assert sorted(clip.name for clip in clips) == [file.name for file in files]
    assert len(files) == len(STEPS)
    for clip in clips:
        content = (folder / "clips" / job / clip.name).read_bytes()
        assert clip.sha256 == hashlib.sha256(content).hexdigest()
    events = [event for decision in decisions for event in decision.events]
    assert sum(isinstance(e, NoteClipKept) for e in events) == 1
    assert state(folder).text == "5 recordings, all as they were kept"


def test_the_checksum_is_that_of_the_standard():
    """FIPS 180-2, appendix B.1: the digest of the three letters 'abc'."""
    known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert hashlib.sha256(b"abc").hexdigest() == known


@pytest.mark.parametrize("harm", ["one bit", "cut short", "gone", "a folder"])
def test_a_damaged_recording_is_named_and_everything_else_goes_on(folder, harm, capsys):
    job, decisions = kept(folder)
    (note,) = fold(decisions).notes
    file = folder / "clips" / job / note.clips[0]
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    if harm == "one bit":
        file.write_bytes(content)
    elif harm == "cut short":
        file.write_bytes(content[: len(content) // 2])
    else:
        file.unlink()
    if harm == "a folder":
        file.mkdir()
    fault = "missing" if harm == "gone" else "damaged"
    found = state(folder)
    assert found.state == "warn"
    assert f"{job}/{file.name} is {fault}, of 5" in found.text and "Restore" in found.text
    assert main(["show", job, "--data", str(folder)]) == 0
    shown = capsys.readouterr().out
    assert f"[{file.name}: {fault}]" in shown and "1 of 5 recordings" in shown
    assert main(["export", job, "--data", str(folder)]) == 0
    assert len(capsys.readouterr().out.splitlines()) == len(decisions)


def test_a_note_whose_recording_is_gone_is_read_back_from_its_transcript(tmp_path):
    def lose(step):
        if step == STEPS[-1]:
            for file in (tmp_path / "clips").rglob("*.flac"):
                file.write_bytes(b"")

    keep(tmp_path, before=lose)
    _, decisions = kept(tmp_path)
    assert decisions[-1].command == "read_note"
    assert not list((tmp_path / "prompts").glob("*-note.wav"))


def test_recordings_that_were_deleted_with_their_folder_are_no_fault(folder):
    job, _ = kept(folder)
    for file in (folder / "clips" / job).iterdir():
        file.unlink()
    assert state(folder).state == "warn"
    (folder / "clips" / job).rmdir()
    assert state(folder).state == "ok" and "1 job(s) were deleted" in state(folder).text


def test_a_name_that_is_taken_is_told_in_the_record(tmp_path):
    clips, sound = Clips(tmp_path), Sound(b"\1\0" * 1600, 16_000)
    first, second = (clips.keep("j", "u1", sound) for _ in range(2))
    assert (first.name, second.name) == ("u1.flac", "u1-2.flac")
    assert clips.fault("j", second) is None
    assert clips.fault("j", Clip("u1.flac", "0" * 64)) == "damaged"
    assert clips.fault("j", Clip("u1.flac", "")) is None, "an older record has no checksum"
    assert NO_CLIP.name == ""


def test_a_record_of_before_checksums_is_still_read(folder):
    from bayhelper.remember.codec import decode_event, encode_event

    _, decisions = kept(folder)
    heard = [e for d in decisions for e in d.events if isinstance(e, SpeechHeard)]
    content = json.loads(json.dumps(encode_event(heard[0])))
    del content["clip"], content["clip_sha256"]
    assert known_as(SpeechHeard, decode_event(content)).clip == ""
