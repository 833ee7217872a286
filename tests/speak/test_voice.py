"""The voice, its tones, its players: listened to by measurement."""

import jiwer
import numpy as np
import pytest
import soxr

from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.sheets.bodies import load_body
from bayhelper.speak import tones
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.speak.player import FolderPlayer, scaled
from bayhelper.speak.voice_process import VoiceProcess, read_wav
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.saying import Saying
from bayhelper.terms.sound import Sound
from bayhelper.terms.subjects.wiping import LevelledReply

PROMPTS = (
    "roof wipe it off now",
    "bonnet levelled",
    "left front door closing",
    "pad is dirty clean it",
    "humidity fifty five percent",
    "boot lid on all round",
)


@pytest.fixture(scope="module")
def voice():
    with VoiceProcess() as made:
        yield made


def test_the_voice_uses_the_library_of_the_wheel(voice):
    sound = voice.render("Roof on. Wipe in five.")
    assert 0.8 < sound.length_s < 2.5
    assert "espeakng_loader" in voice.library
    assert voice.render("Roof on. Wipe in five.") is sound


def test_prompts_can_be_understood_by_a_recogniser():
    """Read back by PocketSphinx among these prompts; word error by jiwer.

    It does not prove that a stranger would understand every word: with the words in any order the
    same recogniser errs on half of them, and it knows no British voice.
    """
    vocabulary = sorted({word for prompt in PROMPTS for word in prompt.split()})
    jsgf = f"#JSGF V1.0; grammar p; public <p> = {' | '.join(PROMPTS)};"
    heard = []
    with (
        PocketSphinxEngine(Pronouncer()) as engine,
        VoiceProcess(voice="gmw/en-US") as american,
    ):
        assert engine.missing_words(vocabulary) == ()
        for prompt in PROMPTS:
            sound = american.render(prompt)
            samples = np.frombuffer(sound.pcm, "<i2").astype("float32")
            at_16k = soxr.resample(samples, sound.rate_hz, 16_000).astype("<i2")
            padded = np.pad(at_16k, 4000)
            heard.append(" ".join(engine.listen(Sound(padded.tobytes(), 16_000), jsgf).words))
    assert jiwer.wer(list(PROMPTS), heard) < 0.2


def test_a_voice_that_is_gone_says_so(monkeypatch):
    monkeypatch.setattr("sys.executable", "/bin/false")
    with VoiceProcess() as broken, pytest.raises(SpeechError, match="bayhelper check"):
        broken.render("Roof on.")


@pytest.mark.parametrize("name", list(tones.PATTERNS))
def test_tones_lie_where_danger_signals_should(name):
    """ISO 7731 (from memory): energy between 500 and 2500 Hz, enough of it below 1500 Hz."""
    sound = tones.render(name)
    samples = np.frombuffer(sound.pcm, "<i2").astype(float)
    power = np.abs(np.fft.rfft(samples)) ** 2
    pitch_hz = np.fft.rfftfreq(len(samples), 1 / sound.rate_hz)
    inside = power[(pitch_hz >= 500) & (pitch_hz <= 2500)].sum() / power.sum()
    low = power[(pitch_hz >= 500) & (pitch_hz <= 1500)].sum() / power.sum()
    assert inside > 0.9 and low > 0.5
    assert np.abs(samples).max() < 32767


def test_urgencies_differ_in_rhythm_and_pitch():
    rhythms = {n: [length for _, length in tones.PATTERNS[n]] for n in ("soft", "due", "urgent")}
    assert len({tuple(r) for r in rhythms.values()}) == 3
    assert len({tones.PATTERNS[n][0][0] for n in rhythms}) == 3
    with pytest.raises(SpeechError, match="no tone"):
        tones.render("fanfare")


def test_players(tmp_path):
    sound = tones.render("soft")
    player = FolderPlayer(tmp_path / "prompts")
    first, second = player.play(sound, "soft"), player.play(sound, "soft")
    assert first is not None and second is not None
    assert first.name < second.name
    assert read_wav(first) == sound
    (tmp_path / "file").write_text("")
    with pytest.raises(SpeechError, match="cannot be written"):
        FolderPlayer(tmp_path / "file").play(sound, "soft")
    assert scaled(sound, 1.0) is sound
    assert np.abs(np.frombuffer(scaled(sound, 0.5).pcm, "<i2")).max() < 17_000


def test_what_is_no_speech_is_explained(tmp_path):
    (tmp_path / "x.wav").write_text("no")
    with pytest.raises(SpeechError, match="wrote no sound"):
        read_wav(tmp_path / "x.wav")


def test_sentences_need_words():
    names = Names(load_body("saloon"), "us")
    assert words(LevelledReply(panel="left_front_wing", half=""), names).startswith(
        "Left front fender"
    )
    with pytest.raises(SpeechError, match="no words for Saying"):
        words(Saying(), names)
