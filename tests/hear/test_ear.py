"""The ear on real sound: fixtures, other talk, engines, end-pointing."""

import io
import shutil
import tomllib
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import soundfile

from bayhelper.hear.accept import UNCLEAR, Ear
from bayhelper.hear.capture.endpoint import EndPointer
from bayhelper.hear.capture.levels import level_db
from bayhelper.hear.capture.recording import (
    read_sound,
    recording_utterances,
    stream_utterances,
    whole_recording,
)
from bayhelper.hear.engines.free_process import FreeProcess
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer, arpabet
from bayhelper.hear.typed import read_typed, typed_utterances
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope, open_engine
from bayhelper.run.settings import Settings
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import UNSAID, Utterance
from bayhelper.understand.offer import offer_of_grammar, plain_words
from tests.known import known
from training.noise import mix
from training.sound_files import Samples, read

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
COMMANDS = tomllib.loads((FIXTURES / "commands.toml").read_text())["command"]
TALK = tomllib.loads((FIXTURES / "other_talk.toml").read_text())["other_talk"]


@pytest.fixture(scope="module")
def ear():
    with open_engine(Settings(engine="vosk")) as engine:
        yield Ear(engine, processor_s)


@pytest.fixture(scope="module")
def other_ear():
    """PocketSphinx, as it is used."""
    make = partial(PocketSphinxEngine, Pronouncer())
    with make() as engine, FreeProcess(make, engine, processor_s) as beside:
        yield Ear(engine, processor_s, free_reader=beside)


@pytest.fixture(scope="module")
def offer():
    return build_library().offer(build_scope(Settings()))


def understood(ear, offer, row):
    hearing = ear.listen(whole_recording(FIXTURES / row["file"]), offer, False)
    command = hearing.command
    right = command is not None and (command.name, command.slots) == (row["command"], row["slots"])
    return right, hearing


def test_every_fixture_is_understood_and_none_is_acted_on_wrongly(ear, offer):
    """Every recording is real sound; all were understood when this was written."""
    outcomes = [(row["words"], *understood(ear, offer, row)) for row in COMMANDS]
    assert [(said, heard.text) for said, ok, heard in outcomes if not ok and heard.accepted] == []
    assert [
        (said, heard.text, heard.why) for said, _, heard in outcomes if not heard.accepted
    ] == []


def test_the_other_engine_understands_them_too(other_ear, offer):
    """One in five of them, and of the talk: it is slower."""
    for row in COMMANDS[::5]:
        right, hearing = understood(other_ear, offer, row)
        assert right and hearing.accepted, (row["words"], hearing.text, hearing.why)
    for row in TALK[::5]:
        for utterance in recording_utterances(FIXTURES / row["file"]):
            assert not other_ear.listen(utterance, offer, False).accepted, row["words"]


def test_other_talk_is_not_acted_on(ear, offer):
    for row in TALK:
        for utterance in recording_utterances(FIXTURES / row["file"]):
            assert not ear.listen(utterance, offer, False).accepted, row["words"]


def test_nothing_carries_over_from_one_file_to_the_next(ear, offer):
    first, second = COMMANDS[0], COMMANDS[7]
    alone = understood(ear, offer, second)[1]
    understood(ear, offer, first)
    after = understood(ear, offer, second)[1]
    assert (alone.text, alone.confidence) == (after.text, after.confidence)


def test_a_command_needs_no_address_only_in_the_follow_on_window(ear, offer):
    rows = tomllib.loads((FIXTURES / "demo" / "recordings.toml").read_text())["line"]
    bare = next(row for row in rows if row["words"] == "undo that")
    utterance = whole_recording(FIXTURES / "demo" / bare["file"])
    assert not ear.listen(utterance, offer, False).accepted
    hearing = ear.listen(utterance, offer, True)
    assert hearing.accepted and hearing.command.name == "undo"


def test_any_grammar_with_any_words(ear):
    """Words that no dictionary has get a guessed pronunciation."""
    text = "#JSGF V1.0; grammar x; public <x> = workshop copy (zylofar | roof) lapped all round;"
    offer = offer_of_grammar(text, "x.jsgf")
    row = next(row for row in COMMANDS if row["words"] == "workshop copy roof lapped all round")
    hearing = ear.listen(whole_recording(FIXTURES / row["file"]), offer, False)
    assert hearing.text == row["words"]


def test_end_pointing_does_not_depend_on_the_size_of_blocks():
    sounds = [read_sound(FIXTURES / row["file"]).pcm for row in COMMANDS[:3]]
    gap = b"\0" * 2 * 24_000
    pcm = gap.join([b"", *sounds, b""])
    spans = []
    for size in (320, 3333, len(pcm)):
        pointer = EndPointer()
        found = [u for at in range(0, len(pcm), size) for u in pointer.feed(pcm[at : at + size])]
        found += pointer.finish()
        spans.append([(u.start_s, u.end_s) for u in found])
    assert spans[0] == spans[1] == spans[2]
    assert len(spans[0]) == 3


def test_patience_decides_whether_a_pause_ends_the_utterance():
    first, second = (read_sound(FIXTURES / row["file"]).pcm for row in COMMANDS[:2])
    pcm = first + b"\0" * 2 * 9_600 + second + b"\0" * 2 * 32_000
    counts = []
    for patience_s in (0.3, 2.0):
        pointer = EndPointer(patience_s)
        counts.append(len(pointer.feed(pcm) + pointer.finish()))
    assert counts[0] >= 2 and counts[1] == 1


def test_speech_without_end_is_cut_and_a_click_is_nothing():
    pcm = read_sound(FIXTURES / COMMANDS[0]["file"]).pcm
    pointer = EndPointer(2.0, longest_s=1.0)
    found = pointer.feed(pcm * 3) + pointer.finish()
    assert len(found) > 1 and all(u.end_s - u.start_s <= 1.0 + 0.04 for u in found)
    click = np.zeros(32_000, "<i2")
    click[16_000:16_080] = 20_000
    pointer = EndPointer()
    assert pointer.feed(click.tobytes()) + pointer.finish() == []


def test_raw_sound_on_a_stream_is_heard_like_the_file(tmp_path):
    path = FIXTURES / COMMANDS[0]["file"]
    stream = io.BytesIO(read_sound(path).pcm + b"\0" * 64_000)
    assert len(list(stream_utterances(stream, 16_000))) == 1
    samples, _ = soundfile.read(path, dtype="int16")
    doubled = np.repeat(samples, 2)
    assert len(list(stream_utterances(io.BytesIO(doubled.tobytes()), 32_000))) == 1


def test_stereo_at_another_rate_becomes_mono_at_sixteen_kilohertz(tmp_path):
    tone = np.sin(np.arange(44_100) / 10)
    soundfile.write(tmp_path / "x.wav", np.stack([tone, tone], axis=1), 44_100)
    sound = read_sound(tmp_path / "x.wav")
    assert sound.rate_hz == 16_000 and abs(sound.length_s - 1) < 0.01


def test_what_is_no_recording_is_explained(tmp_path):
    (tmp_path / "x.wav").write_text("not sound")
    with pytest.raises(HearingError, match="Give a WAV or FLAC file"):
        read_sound(tmp_path / "x.wav")
    with pytest.raises(HearingError, match="cannot be read"):
        read_sound(tmp_path / "missing.wav")


def test_samples_that_are_no_numbers_are_explained(tmp_path):
    soundfile.write(tmp_path / "x.wav", np.full(1600, np.nan, np.float32), 16_000, subtype="FLOAT")
    with pytest.raises(HearingError, match="no numbers"):
        read_sound(tmp_path / "x.wav")


def test_sound_at_a_rate_at_which_nobody_speaks_is_refused():
    with pytest.raises(HearingError, match="not 100"):
        next(stream_utterances(io.BytesIO(b"\0" * 64), 100))


@pytest.mark.parametrize("rate_hz", [8_000, 11_025, 44_100, 48_000])
def test_a_tone_keeps_its_pitch_length_and_level_at_any_rate(tmp_path, rate_hz):
    """A sine of 440 Hz has one spectral peak at 440 Hz and an RMS of its amplitude over root 2."""
    tone = 0.5 * np.sin(2 * np.pi * 440 * np.arange(rate_hz) / rate_hz)
    soundfile.write(tmp_path / "x.flac", tone, rate_hz)
    samples = np.frombuffer(read_sound(tmp_path / "x.flac").pcm, "<i2") / 32767
    assert len(samples) == pytest.approx(16_000, abs=16)
    spectrum = np.abs(np.fft.rfft(samples[:16_000], 16_000))
    assert spectrum.argmax() == 440
    assert np.sqrt(np.mean(samples[1000:-1000] ** 2)) == pytest.approx(0.5 / np.sqrt(2), rel=0.01)


def test_typed_lines_need_no_address_and_must_be_near(offer):
    near, far = typed_utterances(["Roof levelled\n", "\n", "let us have lunch\n"])
    taken = read_typed(near, offer, plain_words)
    assert taken.accepted and known(taken.command).name == "levelled"
    refused = read_typed(far, offer, plain_words)
    assert not refused.accepted and refused.near is not None


def test_guessed_pronunciations_agree_with_the_dictionary():
    """Against CMUdict entries (from memory), stress left out."""
    guessed = Pronouncer().guess(["polish", "panel", "bumper", "sheet"])
    assert guessed["polish"] == "P AA L IH SH"
    assert guessed["bumper"] == "B AH M P ER"
    assert guessed["sheet"] == "SH IY T"
    assert arpabet("ɹˈuːf") == "R UW F"


def test_no_espeak_on_the_path_is_needed():
    assert shutil.which("python3")  # the guess runs in a process of ours, not by a program's name
    assert Pronouncer().guess(["nearside"])["nearside"].startswith("N IH")


def test_talk_among_people_is_not_even_read(ear, offer):
    utterance = next(iter(recording_utterances(FIXTURES / TALK[0]["file"])))
    hearing = ear.listen(utterance, offer, False)
    assert (hearing.text, hearing.evidence.free_text, hearing.why) == ("", "", "not addressed")
    assert ear.listen(utterance, offer, True).evidence.free_text


def test_notes_are_written_down_and_commands_are_not(ear, offer):
    asked = []

    def writer(sound):
        asked.append(sound)
        return "as the writer has it"

    writing = Ear(ear._engine, processor_s, writer=writer)
    row = next(row for row in COMMANDS if row["words"] == "workshop copy end of note")
    ended = writing.listen(whole_recording(FIXTURES / row["file"]), offer, True)
    assert ended.accepted and not asked
    note = next(iter(recording_utterances(FIXTURES / TALK[0]["file"])))
    hearing = writing.listen(note, offer, True)
    assert known(hearing.evidence).free_text == "as the writer has it" and len(asked) == 1
    silent = Ear(ear._engine, processor_s, writer=lambda _: "")
    unwritten = known(silent.listen(note, offer, True).evidence)
    assert unwritten.free_text not in ("", "as the writer has it")


def noisy(row, noise, snr_db):
    speech = read(FIXTURES / row["file"])
    machine = read(FIXTURES / "noise" / f"{noise}.flac")
    long_enough = Samples(np.resize(machine.values, len(speech.values)), machine.rate_hz)
    sound = mix(speech, long_enough, snr_db, 1)
    pcm = (sound.values * 32767).astype("<i2").tobytes()
    return Utterance(Sound(pcm, sound.rate_hz), 0.0, len(pcm) / 2 / sound.rate_hz, "file")


@pytest.mark.parametrize("which", ["ear", "other_ear"])
def test_over_a_machine_what_is_not_sure_is_asked_and_not_done(request, which, offer):
    """Each is acted on where it is quiet; in noise wrong readings score as high as right ones."""
    ear = request.getfixturevalue(which)
    asked = done = 0
    for number, row in enumerate(COMMANDS[::12]):
        noise = ("polisher", "compressor", "extractor")[number % 3]
        hearing = ear.listen(noisy(row, noise, 10.0), offer, False)
        command = hearing.command
        right = command and (command.name, command.slots) == (row["command"], row["slots"])
        assert right or not hearing.accepted, (row["words"], hearing.text)
        assert hearing.evidence.range_db < 30
        asked += bool(hearing.near and hearing.near.likely)
        done += hearing.accepted
    assert done > 8 if which == "ear" else asked


def test_what_was_made_ready_need_not_be_built_when_somebody_speaks(ear, offer):
    engine = ear._engine
    ear.prepare(offer)
    ready = list(engine._grammars)
    right, _ = understood(ear, offer, COMMANDS[0])
    utterance = whole_recording(FIXTURES / TALK[0]["file"])
    ear.listen(utterance, offer, True)
    assert right and list(engine._grammars) == ready and len(ready) == 2


def test_talk_before_the_address_does_not_spoil_the_command(ear, offer):
    """As when a sentence of our own, or of a partner, runs into the beginning."""
    row = COMMANDS[0]
    talk = read_sound(FIXTURES / TALK[0]["file"]).pcm[: 2 * 32_000]
    command = read_sound(FIXTURES / row["file"]).pcm
    sound = Sound(talk + command, 16_000)
    hearing = ear.listen(Utterance(sound, 0.0, sound.length_s, "file"), offer, False)
    assert hearing.accepted and hearing.text == row["words"]
    assert hearing.evidence.speech_s < len(command) / 32_000 + 0.5


def test_somebody_farther_away_is_not_part_of_an_utterance():
    """A radio 30 dB softer talks on before, between and behind two commands."""
    near = np.zeros(16_000 * 12, np.float32)
    for at_s, row in ((3.0, COMMANDS[0]), (8.0, COMMANDS[7])):
        values = read(FIXTURES / row["file"]).values
        near[int(at_s * 16_000) : int(at_s * 16_000) + len(values)] += values
    talk = np.concatenate([read(FIXTURES / row["file"]).values for row in TALK])
    loud = float(np.sqrt(np.mean(near[near != 0] ** 2)))
    far = np.resize(talk, len(near))
    far *= loud / 10 ** (30 / 20) / float(np.sqrt(np.mean(far**2)))
    pcm = (np.clip(near + far, -1, 1) * 32767).astype("<i2").tobytes()
    pointer = EndPointer()
    found = [one for one in pointer.feed(pcm) + pointer.finish() if one.end_s > 3.0]
    holding = [one for one in found if level_db(known(one.sound).pcm) > -40]
    assert len(holding) == 2
    for one, start_s in zip(holding, (3.0, 8.0), strict=True):
        assert start_s - 1.0 < one.start_s < start_s + 0.6
        assert one.end_s < start_s + 4.0


def test_half_a_command_is_not_taken_for_another(ear, offer):
    """Who pauses behind *roof* has not said *the roof*, which is an answer to *which panel?*."""
    for words in ("workshop copy roof lapped all round", "workshop copy roof prepped"):
        row = next(row for row in COMMANDS if row["words"] == words)
        sound = read_sound(FIXTURES / row["file"])
        roof_s = ear._engine.listen(sound, offer.jsgf(True)).word_spans_s[2][1]
        pcm = sound.pcm[: round((roof_s + 0.05) * 16_000) * 2] + bytes(2 * 6400)
        half = Utterance(Sound(pcm, 16_000), 0.0, len(pcm) / 32_000, "file")
        hearing = ear.listen(half, offer, False)
        assert hearing.addressed and not hearing.accepted, hearing.text


@pytest.mark.parametrize("which", ["ear", "other_ear"])
def test_the_address_alone_is_no_command(request, which, offer):
    """A pause after the address: a grammar that must end in a command puts one into the silence."""
    ear = request.getfixturevalue(which)
    row = next(row for row in COMMANDS if row["words"] == "workshop copy laying down the trunk lid")
    sound = read_sound(FIXTURES / row["file"])
    for length_s in (1.25, 1.4):
        pcm = sound.pcm[: round(length_s * 16_000) * 2]
        alone = Utterance(Sound(pcm, 16_000), 0.0, length_s, "file")
        hearing = ear.listen(alone, offer, False)
        assert not hearing.accepted, hearing.text
    assert which == "ear" or (hearing.addressed and hearing.why == UNSAID)
    assert ear.listen(whole_recording(FIXTURES / row["file"]), offer, False).accepted


def test_what_sounds_as_much_like_another_command_is_asked_where_it_is_noisy(other_ear, offer):
    """Eighty and eighteen: neither free speech nor the address tells them apart."""
    row = next(row for row in COMMANDS if row["words"] == "workshop copy humidity eighty percent")
    quiet = other_ear.listen(whole_recording(FIXTURES / row["file"]), offer, False)
    assert quiet.accepted and 0.5 < quiet.evidence.rival_lead < 4.0
    hearing = other_ear.listen(noisy(row, "extractor", 15.0), offer, False)
    assert (hearing.accepted, hearing.why) == (False, UNCLEAR)
    assert hearing.near.likely and hearing.near.command.name == "set_humidity"


def test_a_rival_that_lies_in_a_gap_between_words_is_none(other_ear, offer):
    """'Hood surface temperature' beside 'surface temperature': 0.12 s are too short for a hood."""
    words = "workshop copy surface temperature nineteen degrees"
    row = next(row for row in COMMANDS if row["words"] == words)
    hearing = other_ear.listen(whole_recording(FIXTURES / row["file"]), offer, False)
    assert hearing.accepted and hearing.evidence.rival_lead == float("inf")
