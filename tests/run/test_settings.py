"""Settings: what goes before what, and what is refused with which words."""

import ast
import sys
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import soundfile

from bayhelper.run import settings as settings_module
from bayhelper.run.bay.playback import Take, play
from bayhelper.run.clock import ManualClock
from bayhelper.run.settings import Settings, data_folder, load_settings
from bayhelper.terms.errors import RunError

DEMO = Path(__file__).parents[2] / "audio_fixtures" / "demo"


def written(folder, text):
    (folder / "settings.toml").write_text(text, encoding="utf-8")
    return folder


def test_file_then_environment_then_command_line(tmp_path):
    assert load_settings(tmp_path, {}) == Settings()
    written(tmp_path, 'plan = "one"\nbody = "one"\nengine = "vosk"')
    environment = {"BAYHELPER_BODY": "two", "BAYHELPER_ENGINE": "pocketsphinx", "BODY": "x"}
    settings = load_settings(tmp_path, environment, engine="vosk", plan=None)
    assert (settings.plan, settings.body, settings.engine) == ("one", "two", "vosk")


def test_the_environment_gives_numbers_and_lists(tmp_path):
    settings = load_settings(
        tmp_path,
        {
            "BAYHELPER_PATIENCE_S": "1.5",
            "BAYHELPER_VOICE_RATE_WPM": "140",
            "BAYHELPER_TECHNICIANS": "Robin, Maya",
            "BAYHELPER_DATA": "/elsewhere",
        },
    )
    assert (settings.patience_s, settings.voice_rate_wpm) == (1.5, 140)
    assert settings.technicians == ("Robin", "Maya")


def test_the_process_environment_counts_unless_another_is_given(tmp_path, monkeypatch):
    monkeypatch.setenv("BAYHELPER_COUNTRY", "us")
    assert load_settings(tmp_path).country == "us"
    assert load_settings(tmp_path, {}).country == "gb"


def test_the_environment_is_named_when_it_is_wrong(tmp_path):
    with pytest.raises(RunError, match="the environment: 'patience_s' must be a number, not 'ab'"):
        load_settings(tmp_path, {"BAYHELPER_PATIENCE_S": "ab"})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('country = "england"', "'gb' or 'us'"),
        ('country = ""', "two letters"),
        ("patience_s = nan", "from 0.2 to 5"),
        ("patience_s = 0.0", "from 0.2 to 5"),
        ("patience_s = true", "must be a number"),
        ("follow_on_s = -1.0", "from 0 to 60"),
        ("follow_on_s = inf", "from 0 to 60"),
        ("voice_rate_wpm = 5000", "from 80 to 400"),
        ("voice_rate_wpm = 150.5", "a whole number"),
        ('address = ""', "plain words"),
        ('address = "hey, bay"', "plain words"),
        ('address = "bay  2"', "plain words"),
        ('technicians = ["Robin", "!"]', "can be said"),
        ('chatter = "chatty"', "one of quiet, normal, teaching, not 'chatty'"),
        ("chatter = 2", "one of quiet, normal, teaching, not 2"),
        ('engine = "other"', "one of vosk, pocketsphinx, not 'other'"),
        ('dialect = "scots"', "one of uk, us, not"),
        ('suppressor = "wool"', "one of auto, off"),
        ("car = [1]", "must be a text"),
        ('technicians = "Robin"', "must be a list of texts"),
        ('technicians = ["Robin", 1]', "must be a text, not 1"),
        ("air_c = 1" + "0" * 400, "not as huge"),
        ("voice_rate_wpm = 0x1" + "0" * 4000, "from 80 to 400"),
    ],
)
def test_what_is_no_sense_is_refused_with_file_key_and_wish(text, said, tmp_path):
    written(tmp_path, text)
    key = text.partition(" ")[0]
    with pytest.raises(RunError, match=said) as raised:
        load_settings(tmp_path, {})
    assert str(tmp_path / "settings.toml") in str(raised.value) and f"'{key}'" in str(raised.value)


def test_an_unknown_setting_is_refused_and_the_known_ones_are_named(tmp_path):
    written(tmp_path, 'colour = "red"')
    with pytest.raises(RunError, match=r"unknown key 'colour'. Known are country, dialect"):
        load_settings(tmp_path, {})


def test_a_folder_in_its_place_is_refused(tmp_path):
    (tmp_path / "settings.toml").mkdir()
    with pytest.raises(RunError, match=r"settings.toml cannot be read"):
        load_settings(tmp_path, {})


def test_a_file_that_is_no_text_is_refused(tmp_path):
    (tmp_path / "settings.toml").write_bytes(b"car = \xff")
    with pytest.raises(RunError, match="cannot be read"):
        load_settings(tmp_path, {})


@pytest.mark.parametrize("said", ["gb", "GB", " uk ", "UK"])
def test_britain_drives_on_the_left_however_its_code_is_typed(said, tmp_path):
    """ISO 3166-1 (from memory): the code is GB; UK is reserved for it and often typed."""
    settings = load_settings(written(tmp_path, f'country = "{said}"'), {})
    assert (settings.drives(), settings.speaks()) == ("right", "uk")


RIGHT_HAND_CARS = "ie au nz jp in id th my sg za ke mt cy jm pk bd lk np zw hk"
LEFT_HAND_CARS = "us ca mx br ar de fr es it nl se no pl tr ru cn kr ph vn eg ng gh et sa ae mm"


@pytest.mark.parametrize(
    ("country", "side"),
    [(code, "right") for code in RIGHT_HAND_CARS.split()]
    + [(code, "left") for code in LEFT_HAND_CARS.split()],
)
def test_the_side_of_the_driver(country, side, tmp_path):
    """Rule of the road by country, from memory."""
    assert load_settings(tmp_path, {}, country=country).drives() == side


def test_side_and_dialect_can_be_set_against_the_country(tmp_path):
    """A left-hand-drive import in Britain."""
    settings = load_settings(written(tmp_path, 'steering = "left"\ndialect = "us"'), {})
    assert (settings.drives(), settings.speaks()) == ("left", "us")


@pytest.mark.skipif(sys.platform != "linux", reason="the ids are those of eSpeak NG")
def test_american_words_get_an_american_voice_unless_one_was_chosen(tmp_path):
    assert load_settings(tmp_path, {}, country="us").voice == "gmw/en-us"
    assert load_settings(tmp_path, {}, country="us", voice="gmw/en").voice == "gmw/en"
    assert load_settings(tmp_path, {}).voice == ""


def test_the_data_folder(tmp_path, monkeypatch):
    monkeypatch.delenv("BAYHELPER_DATA", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert data_folder(None) == tmp_path / "bayhelper"
    monkeypatch.setenv("BAYHELPER_DATA", str(tmp_path / "named"))
    assert data_folder(None) == tmp_path / "named"
    assert data_folder(tmp_path) == tmp_path


def read_outside_of_settings() -> set[str]:
    """Names that the other modules of `run` read from settings, those behind a method included."""
    folder = Path(settings_module.__file__).parent
    names: set[str] = set()
    for file in folder.rglob("*.py"):
        if file.name != "settings.py":
            found = ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            names |= {
                node.attr
                for node in found
                if isinstance(node, ast.Attribute) and ast.unparse(node.value).endswith("settings")
            }
    tree = ast.parse(Path(settings_module.__file__).read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.name in names:
            names |= {n.attr for n in ast.walk(node) if isinstance(n, ast.Attribute)}
    return names


@pytest.mark.parametrize("field", [field.name for field in fields(Settings)])
def test_no_setting_is_without_effect(field):
    assert field in read_outside_of_settings()


def pieces(folder, patience_s):
    """Utterances that `work` finds in a recording with two seconds of silence within."""
    samples, rate_hz = soundfile.read(DEMO / "001.flac", dtype="int16")
    twice = np.concatenate([samples, np.zeros(2 * rate_hz, "int16"), samples])
    soundfile.write(folder / "twice.wav", np.pad(twice, (0, 6 * rate_hz)), rate_hz)
    heard: list[object] = []

    clock = ManualClock(datetime(2026, 3, 2, tzinfo=UTC))
    session: Any = SimpleNamespace(
        bay=SimpleNamespace(job=None, next_due_utc=lambda: None, pass_time=lambda _: None),
        mouth=SimpleNamespace(speaking_until_utc=clock.now_utc()),
        conversation=SimpleNamespace(
            handle=heard.append, look_after=lambda: None, is_whole=lambda _: False
        ),
    )
    takes = [Take(folder / "twice.wav")]
    play(takes, session, clock, fast=True, patience_s=patience_s)
    return len(heard)


def test_patience_holds_for_recordings_too(tmp_path):
    assert pieces(tmp_path, 0.8) >= 2
    assert pieces(tmp_path, 4.0) == 1
