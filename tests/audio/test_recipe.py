"""The recipe: speakers are read strictly, sound is levelled, tables are refused by row."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile

from training.make_corpora import address_items, command_items, talk_items
from training.make_fixtures import demo_fixtures, make
from training.sound_files import Samples, read, recording, write
from training.speakers import RecipeError, parse_speaker
from training.synthesise import Line, main, read_table, synthesise
from training.synthesisers import Synthesisers


def tone(level: float, length_s: float = 1.0, rate_hz: int = 24_000) -> Samples:
    t = np.arange(round(length_s * rate_hz)) / rate_hz
    return Samples((level * np.sin(2 * np.pi * 220 * t)).astype(np.float32), rate_hz)


def test_a_mixture_is_weighed_and_takes_the_dialect_of_its_heaviest_english_part() -> None:
    speaker = parse_speaker("kokoro:bf_emma*1+if_sara*3")
    assert speaker.parts == (("bf_emma", 0.25), ("if_sara", 0.75))
    assert (speaker.dialect, speaker.voice) == ("uk", "if_sara")
    assert parse_speaker("kokoro:am_puck").dialect == "us"
    assert parse_speaker("espeak:en-gb+f3").dialect == "uk"
    assert parse_speaker("flite:slt").dialect == "us"


@pytest.mark.parametrize("text", ["", "bf_emma", "kokoro:", "harp:a", "kokoro:a*x", "kokoro:a*0"])
def test_what_is_no_speaker_is_refused(text: str) -> None:
    with pytest.raises(RecipeError, match="expected"):
        parse_speaker(text)


@pytest.mark.parametrize("level", [0.001, 0.1, 0.99])
def test_loud_and_soft_speech_end_at_one_level(level: float) -> None:
    # A sine of -23 dBFS RMS peaks 3.01 dB higher: its crest factor is the square root of two.
    made = recording(tone(level), "seed")
    middle = made.values[made.rate_hz // 2 : -made.rate_hz // 2]
    assert 20 * np.log10(np.abs(middle).max()) == pytest.approx(-23 + 3.01, abs=0.3)
    assert len(made.values) / made.rate_hz == pytest.approx(1.6, abs=0.06)


def test_a_sharp_sound_is_turned_down_rather_than_clipped() -> None:
    speech = tone(0.1)
    speech.values[5000] = 1.0
    assert np.abs(recording(speech, "seed").values).max() <= 0.71


def test_the_same_seed_gives_the_same_file(tmp_path: Path) -> None:
    for name in ("a.flac", "b.flac"):
        write(tmp_path / name, recording(tone(0.1), "seed"))
    assert (tmp_path / "a.flac").read_bytes() == (tmp_path / "b.flac").read_bytes()
    assert read(tmp_path / "a.flac").rate_hz == 16_000


def test_a_table_is_refused_by_row(tmp_path: Path) -> None:
    table = tmp_path / "lines.csv"
    table.write_text("say,voice,speed,out\nyes,flite:slt,1,a.flac\nno,flite:slt,9,b.flac\n")
    with pytest.raises(RecipeError, match=r"lines.csv, row 2: expected a speed"):
        read_table(table)
    table = tmp_path / "lines.jsonl"
    table.write_text('{"say": "yes", "voice": "flite:slt"}\n')
    with pytest.raises(RecipeError, match=r"row 1: .*missing out"):
        read_table(table)


@pytest.mark.parametrize(
    ("program", "voice"),
    [
        ("espeak-ng", "espeak:en-gb+f3"),
        ("flite", "flite:slt"),
        ("text2wave", "festival:kal_diphone"),
    ],
)
def test_it_speaks(program: str, voice: str, tmp_path: Path) -> None:
    if shutil.which(program) is None:
        pytest.skip(f"{program} is not installed")
    tools = Synthesisers(tmp_path)
    slow, fast = (Line("The roof is levelled.", voice, f"{s}.flac", s) for s in (0.8, 1.4))
    lengths = [length_s for _, length_s in synthesise([slow, fast], tmp_path, tools)]
    assert lengths[0] > lengths[1] * 1.2
    assert soundfile.info(tmp_path / slow.out).samplerate == 16_000
    assert [length_s for _, length_s in synthesise([slow], tmp_path, tools)] == [0.0]


def test_processes_share_the_work(tmp_path: Path) -> None:
    if shutil.which("flite") is None:
        pytest.skip("flite is not installed")
    table = tmp_path / "table.csv"
    rows = [f"roof,flite:slt,1,{number}.flac" for number in range(5)]
    table.write_text("\n".join(["say,voice,speed,out", *rows]) + "\n")
    assert main([str(table), "--into", str(tmp_path), "--processes", "2"]) == 0
    assert len(list(tmp_path.glob("*.flac"))) == len(rows)


def test_a_recording_is_written_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks_off(path: Path, *_: object, **__: object) -> None:
        path.write_bytes(b"half of it")
        raise KeyboardInterrupt

    monkeypatch.setattr(soundfile, "write", breaks_off)
    with pytest.raises(KeyboardInterrupt):
        write(tmp_path / "a.flac", Samples(np.zeros(9, np.float32), 16_000))
    assert not (tmp_path / "a.flac").exists()


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


def test_halves_of_the_corpora_share_no_voice_and_no_sentence() -> None:
    phrases = [{"say": f"yes {n}", "command": f"c{n % 3}", "slots": {}} for n in range(9)]
    for items in (talk_items(2, 1), address_items(["x"]), command_items(phrases, 6, 1)):
        voices: dict[str, set[str]] = {"tune": set(), "report": set()}
        for item in items:
            voices[item.half] |= {name for name, _ in parse_speaker(item.line.voice).parts}
        assert voices["tune"] and voices["report"] and not voices["tune"] & voices["report"]
    said: dict[str, set[str]] = {"tune": set(), "report": set()}
    for item in talk_items(2, 1):
        said[item.half].add(item.line.say)
    assert not said["tune"] & said["report"]
    speaker = [i.more["command"] for i in command_items(phrases, 3, 1) if i.speaker == "t1"]
    assert sorted(map(str, speaker)) == ["c0", "c1", "c2"], "all commands before one is repeated"
