"""A dictated note from real sound, listed and read again."""

import json
from pathlib import Path

import pytest

from bayhelper.hear.engines.transcribe import WhisperTranscriber
from bayhelper.remember.history import History
from bayhelper.run.cli import main
from bayhelper.terms.errors import HearingError
from bayhelper.terms.events import NoteTranscribed

DEMO = Path(__file__).parents[2] / "audio_fixtures" / "demo"


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A data folder with one open job and one note of one recording."""
    folder = tmp_path_factory.mktemp("notes") / "data"
    files = [str(DEMO / f"{number}.flac") for number in ("001", "014", "015", "016")]
    assert main(["work", "--data", str(folder), "--fast", "--from-audio", *files]) == 0
    return folder


def notes(folder, capsys, *more):
    with History.open(folder) as history:
        (job,) = history.jobs()
    code = main(["notes", job, "--data", str(folder), "--json", *more])
    return code, [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_a_note_is_listed_and_read_again_beside_the_old_words(kept, capsys):
    code, (note,) = notes(kept, capsys)
    assert code == 0 and note["panel"] == "bonnet" and note["again"] == ""
    assert note["text"] == " ".join(note["transcripts"]) and "scratches" in note["text"]
    code, (told,) = notes(kept, capsys, "--again")
    assert code == 0 and "scratches" in told["again"]
    assert told["transcripts"] == note["transcripts"] and told["clips"] == note["clips"]
    with History.open(kept) as history:
        events = [e for d in history.decisions(history.jobs()[0]) for e in d.events]
    (event,) = [event for event in events if isinstance(event, NoteTranscribed)]
    assert event.made_by == "pocketsphinx" and event.transcript == told["again"]
    assert main(["show", history_job(kept), "--data", str(kept)]) == 0
    assert told["again"] in capsys.readouterr().out


def history_job(folder):
    with History.open(folder) as history:
        return history.jobs()[0]


def test_a_recording_that_is_gone_is_told_and_the_words_stay(kept, capsys):
    _, (before,) = notes(kept, capsys)
    clip = kept / "clips" / history_job(kept) / before["clips"][0]
    clip.rename(clip.with_suffix(".away"))
    try:
        code = main(["notes", history_job(kept), "--data", str(kept), "--again"])
        out = capsys.readouterr().out
    finally:
        clip.with_suffix(".away").rename(clip)
    assert code == 1 and "n1" in out and before["text"] in out


def test_a_folder_without_a_model_is_refused(tmp_path):
    with pytest.raises(HearingError, match=r"model\.bin"):
        WhisperTranscriber(tmp_path)


def test_whisper_itself_reads_the_note(monkeypatch):
    """Only where faster-whisper is installed and BAYHELPER_WHISPER_MODEL names a model."""
    pytest.importorskip("faster_whisper")
    import os

    model = os.environ.get("BAYHELPER_WHISPER_MODEL")
    if not model:
        pytest.skip("no model folder in BAYHELPER_WHISPER_MODEL")
    from bayhelper.hear.capture.recording import read_sound

    text = WhisperTranscriber(Path(model)).transcribe(read_sound(DEMO / "015.flac"))
    assert "scratches" in text.lower()
