"""The self-check says 'ok' only of what works, and else what to do; parts are broken for real."""

import sqlite3
import sys
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from bayhelper.remember.journal import FILE_NAME, Journal
from bayhelper.run import clock as clock_module
from bayhelper.run import selfcheck
from bayhelper.run.cli import main
from bayhelper.run.selfcheck import Finding, check_all
from tests.decide.worker import START_UTC, Worker

SLOW = ("_grammars", "_ear", "_voice")


@pytest.fixture
def quick(monkeypatch):
    """Leaves out the slow parts; they are tried by themselves below and in test_work."""
    for name in SLOW:
        monkeypatch.setattr(selfcheck, name, lambda folder: "left out")


def found(folder) -> dict[str, Finding]:
    return {finding.part: finding for finding in check_all(folder)}


def keep_a_job(folder) -> int:
    """A job that the real tables decided; gives the number of its decisions."""
    worker = Worker()
    worker.wait(60)
    with Journal.open(folder) as journal:
        for decision in worker.it.decisions:
            journal.append(decision)
    return len(worker.it.decisions)


@pytest.fixture
def clock_says(monkeypatch):
    def says(now_utc):
        frozen = SimpleNamespace(now=now_utc.astimezone)
        monkeypatch.setattr(clock_module, "datetime", frozen)

    return says


def test_wrong_settings_spoil_what_needs_them_and_nothing_else(tmp_path):
    (tmp_path / "settings.toml").write_text("colour = 1")
    parts = found(tmp_path)
    assert parts["settings"].state == "bad" and "unknown key 'colour'" in parts["settings"].text
    assert {parts[name].state for name in ("grammars", "ear", "voice")} == {"bad"}
    assert {parts[name].state for name in ("python", "journal", "clock")} == {"ok"}


def test_the_journal_is_counted_and_read(quick, tmp_path):
    count = keep_a_job(tmp_path)
    journal = found(tmp_path)["journal"]
    assert (journal.state, count > 0) == ("ok", True)
    assert f"1 jobs, {count} decisions" in journal.text


def test_a_damaged_decision_is_found(quick, tmp_path):
    keep_a_job(tmp_path)
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    with connection:
        triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in triggers.fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE decisions SET content = '{}' WHERE number = 1")
    connection.close()
    journal = found(tmp_path)["journal"]
    assert journal.state == "bad" and "no decision" in journal.text


def test_a_file_that_is_no_journal_and_a_folder_that_is_none_are_found(quick, tmp_path):
    (tmp_path / FILE_NAME).write_bytes(b"not a database, however long it may be" * 40)
    assert found(tmp_path)["journal"].state == "bad"
    (tmp_path / "file").write_text("")
    journal = found(tmp_path / "file")["journal"]
    assert journal.state == "bad" and "--data" in journal.text


def test_a_second_writer_is_told_about(quick, tmp_path):
    with Journal.open(tmp_path):
        assert "Another bayhelper" in found(tmp_path)["journal"].text
    assert found(tmp_path)["journal"].state == "ok"


def test_a_clock_that_was_never_set_is_bad(quick, tmp_path, clock_says):
    clock_says(datetime(1970, 1, 1, tzinfo=UTC))
    assert found(tmp_path)["clock"].state == "bad"


def test_a_clock_behind_the_record_is_told_about(quick, tmp_path, clock_says):
    keep_a_job(tmp_path)
    clock_says(START_UTC - timedelta(hours=1))
    behind = found(tmp_path)["record time"]
    assert behind.state == "warn" and "come due too late" in behind.text
    clock_says(START_UTC + timedelta(hours=1))
    assert found(tmp_path)["record time"].state == "ok"


def test_the_engine_of_the_settings_is_tried(tmp_path, monkeypatch):
    monkeypatch.setattr(selfcheck, "_voice", lambda folder: "left out")
    assert found(tmp_path)["ear"] == Finding("ear", "ok", "vosk loads and knows every word")
    monkeypatch.setenv("BAYHELPER_VOSK_MODEL", str(tmp_path))  # a folder, but no model
    part = found(tmp_path)["ear"]
    assert part.state == "bad" and "found none" in part.text
    (tmp_path / "settings.toml").write_text('engine = "pocketsphinx"')
    assert found(tmp_path)["ear"].text == "pocketsphinx loads and knows every word"


class NoSound(Exception):
    """What sounddevice raises where no sound system runs."""


def no_sound():
    raise NoSound("Error querying host API")


@pytest.mark.parametrize(
    ("query", "state", "text"),
    [
        (no_sound, "warn", "Error querying host API"),
        (list, "warn", "No sound card was found"),
        (lambda: [{"name": "a"}, {"name": "b"}], "ok", "2 devices"),
    ],
)
def test_the_sound_card(tmp_path, monkeypatch, query, state, text):
    card = SimpleNamespace(query_devices=query, PortAudioError=NoSound)
    monkeypatch.setitem(sys.modules, "sounddevice", card)
    sound = selfcheck._try("sound card", selfcheck._sound_card, tmp_path, "warn")
    assert sound.state == state and text in sound.text


def test_without_portaudio_the_package_to_install_is_named(quick, tmp_path, monkeypatch):
    class Absent:
        def find_spec(self, name, path=None, target=None):
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Absent(), *sys.meta_path])
    sound = found(tmp_path)["sound card"]
    assert sound.state == "warn" and "libportaudio2" in sound.text


def test_the_voice_names_its_library_and_a_voice_that_fails_is_bad(tmp_path, monkeypatch):
    for name in ("_grammars", "_ear"):
        monkeypatch.setattr(selfcheck, name, lambda folder: "left out")
    assert "espeak" in found(tmp_path)["voice"].text
    (tmp_path / "settings.toml").write_text('voice = "no such voice"')
    voice = found(tmp_path)["voice"]
    assert voice.state == "bad" and "no such voice" in voice.text


def test_the_exit_code_is_1_for_what_is_bad_and_0_for_what_is_only_missing(
    quick, tmp_path, monkeypatch, capsys
):
    monkeypatch.setitem(
        sys.modules, "sounddevice", SimpleNamespace(query_devices=list, PortAudioError=NoSound)
    )
    assert main(["check", "--data", str(tmp_path)]) == 0
    assert "warn  sound card" in capsys.readouterr().out
    (tmp_path / "settings.toml").write_text("patience_s = -1.0")
    assert main(["check", "--data", str(tmp_path)]) == 1
    assert "bad   settings" in capsys.readouterr().out


def test_noise_that_nobody_suppresses_is_told_with_what_to_install(tmp_path):
    (tmp_path / "settings.toml").write_text('suppressor = "off"')
    part = selfcheck._try("suppressor", selfcheck._suppressor, tmp_path, "warn")
    assert part.state == "warn" and "bayhelper[rnnoise]" in part.text
