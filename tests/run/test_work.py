"""Whole jobs through the command line: typed, resumed, killed, shown."""

import io
import json
import signal
import subprocess
import sys
import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bayhelper.decide.acts.catalogue import ACTS
from bayhelper.run.cli import main
from bayhelper.run.clock import ManualClock, SystemClock, processor_s, steady_s
from bayhelper.run.settings import data_folder, load_settings
from bayhelper.terms.errors import RunError

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
MORNING = """open a new job
air temperature 22 degrees
roof film 112 microns
front bumper film 112 microns
flag the left front wing thin paint
start the wash
iron remover is on
wait 4 minutes
rinsed off
start inspection
start correction
start machining the left front wing
do it anyway
polish on the pad
section done
polish on the pad
no leave it
pad cleaned
finished machining
left residue on the roof
roof residue removed
take a note about the bonnet
a deep scratch stays as it is
end of note
read back the note
bonnet prepped
bonnet left half is on all round
wait 2 minutes
bonnet trial wipe still wet
time left
which panels are open
"""
AFTERNOON = """how long has the bonnet had
give the bonnet two more minutes
bonnet levelled all round
roof is on
do it anyway
roof buffed
do it anyway
high spot on the roof rear edge
fixed the high spot on the roof
looked over the roof
undo that
that was wrong
where are we
what is next
which seams are bare
go to sleep
roof levelled
wake up please
speak softer
hush now
say that again
pause the job
yes please
carry on with the job
start the cure
sign off the job
yes please
"""


def typed(monkeypatch, folder, lines, *options):
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    assert main(["work", "--typed", "--fast", "--data", str(folder), *options]) == 0


def rows(capsys, *arguments):
    capsys.readouterr()
    assert main([*arguments]) == 0
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_a_whole_job_over_a_restart(tmp_path, monkeypatch, capsys):
    typed(monkeypatch, tmp_path, MORNING, "--plan", "one_step", "--body", "saloon")
    said = capsys.readouterr().out
    assert "Iron remover. Rinse it off now." in said
    assert "do it anyway" in said
    typed(monkeypatch, tmp_path, AFTERNOON)
    (job,) = rows(capsys, "jobs", "--json", "--data", str(tmp_path))
    assert job["closed_at_utc"] is not None
    assert job["films_um"] == {"roof": [112.0]}  # a bumper of plastic gives no reading
    (shown,) = rows(capsys, "show", job["job"], "--json", "--data", str(tmp_path))
    assert shown == job
    assert job["notes"][0]["transcripts"] == ["a deep scratch stays as it is"]
    left = next(part for part in job["parts"] if part["half"] == "left")
    assert left["started_assumed"] and not left["covered_assumed"]
    assert left["trials"][0][1] == "wet"
    exported = rows(capsys, "export", job["job"], "--data", str(tmp_path))
    assert [row["number"] for row in exported] == list(range(1, len(exported) + 1))
    kinds = {event["type"] for row in exported for event in row["events"]}
    assert {"Undone", "Misheard", "DefectFixed", "TimeExtended", "JobPaused", "JobClosed"} <= kinds
    assert main(["show", job["job"], "--data", str(tmp_path)]) == 0
    text = capsys.readouterr().out
    assert "high spot, roof, rear edge" in text and "(assumed)" in text


def test_the_command_line_without_a_door_says_what_to_do(tmp_path, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    assert main(["work", "--data", str(tmp_path)]) == 1
    told = capsys.readouterr().err
    assert "libportaudio2" in told and "--typed" in told
    assert main(["show", "x", "--data", str(tmp_path)]) == 1
    assert "no job 'x'" in capsys.readouterr().err
    assert main(["hear", "nothing.wav", "--data", str(tmp_path)]) == 1
    assert "WAV or FLAC" in capsys.readouterr().err
    assert main(["jobs", "--data", str(tmp_path)]) == 0


def test_phrases_cover_the_catalogue(tmp_path, capsys):
    card = rows(capsys, "phrases", "--json", "--data", str(tmp_path))
    assert {row["command"] for row in card} == set(ACTS)
    sample = rows(capsys, "phrases", "--sample", "30", "--seed", "4", "--json")
    assert len(sample) == 30 and all(row["say"].startswith("workshop copy ") for row in sample)


def test_hear_gives_one_line_a_file_in_either_order(tmp_path, capsys):
    names = ["commands/undo_1.flac", "commands/covered_1.flac"]
    files = [str(FIXTURES / name) for name in names]
    there = rows(capsys, "hear", "--json", *files)
    back = rows(capsys, "hear", "--json", *reversed(files))
    assert [row["file"] for row in there] == files
    for first, second in zip(there, reversed(back), strict=True):
        first.pop("compute_s"), second.pop("compute_s")
        assert first == second
    assert there[0]["command"] == "undo" and there[0]["accepted"]


def test_hear_cuts_a_recording_into_utterances(capsys):
    (row,) = rows(
        capsys, "hear", "--segments", "--json", str(FIXTURES / "commands" / "undo_1.flac")
    )
    assert 0 <= row["start_s"] < row["end_s"]


def test_hear_with_any_grammar(tmp_path, capsys):
    grammar = tmp_path / "g.jsgf"
    grammar.write_text("#JSGF V1.0; grammar g; public <g> = workshop copy undo that;")
    file = str(FIXTURES / "commands" / "undo_1.flac")
    (row,) = rows(capsys, "hear", "--json", "--grammar", str(grammar), file)
    assert row["text"] == "workshop copy undo that" and row["command"] is None


def test_check_tries_each_part(tmp_path, capsys):
    found = rows(capsys, "check", "--json", "--data", str(tmp_path))
    states = {row["part"]: row["state"] for row in found}
    for part in ("python", "settings", "grammars", "ear", "voice", "journal", "clock"):
        assert states[part] == "ok"


def test_a_killed_demo_is_taken_up_again(tmp_path, monkeypatch, capsys):
    folder = tmp_path / "demo"
    with subprocess.Popen(
        [sys.executable, "-m", "bayhelper", "demo", "--out", str(folder)],
        stdout=subprocess.PIPE,
        text=True,
    ) as child:
        assert child.stdout is not None
        for line in child.stdout:
            if "StageStarted  stage=wash" in line:
                child.send_signal(signal.SIGKILL)
                break
    typed(monkeypatch, folder, "where are we\n")
    assert "Wash" in capsys.readouterr().out
    (job,) = rows(capsys, "jobs", "--json", "--data", str(folder))
    assert job["stage"] == "wash" and job["closed_at_utc"] is None


def short_story(folder, lines):
    demo = FIXTURES / "demo"
    blocks = [
        f"[[line]]\nfile = {json.dumps(str(demo / line['file']))}\nafter_s = {line['after_s']}\n"
        for line in lines
    ]
    file = folder / "story.toml"
    file.write_text("\n".join(blocks))
    return str(file)


def test_muting_a_recording_takes_its_event_away(tmp_path, capsys):
    lines = tomllib.loads((FIXTURES / "demo" / "story.toml").read_text())["line"][:5]
    events = []
    for name, kept in (("all", lines), ("again", lines), ("muted", lines[:3] + lines[4:])):
        folder = tmp_path / name
        story = tmp_path / f"{name}-story"
        story.mkdir()
        path = short_story(story, kept)
        events.append(rows(capsys, "demo", "--out", str(folder), "--story", path, "--json"))
    assert events[0] == events[1]
    films = [[r for r in run if r.get("event") == "FilmRead"] for run in events]
    assert len(films[0]) == 2 and len(films[2]) == 1
    assert (tmp_path / "all" / "record.txt").exists()
    assert main(["demo", "--out", str(tmp_path / "all")]) == 1


def test_raw_sound_on_standard_input(tmp_path):
    import soundfile

    demo = FIXTURES / "demo"
    samples, _ = soundfile.read(demo / "001.flac", dtype="int16")
    done = subprocess.run(
        [sys.executable, "-m", "bayhelper", "work", "--stdin", "--data", str(tmp_path)],
        input=samples.astype("<i2").tobytes() + b"\0" * 64_000,
        capture_output=True,
        check=True,
    )
    assert b"JobOpened" in done.stdout


def test_settings_are_explained_when_wrong(tmp_path, monkeypatch):
    file = tmp_path / "settings.toml"
    for text, said in (
        ("colour = 1", "unknown key 'colour'. Known are country"),
        ("country = 1", "must be a text"),
        ('dialect = "fr"', "one of uk, us, not 'fr'"),
        ("technicians = [1]", "entry 1 of 'technicians' must be a text"),
        ("= broken", "not valid TOML"),
    ):
        file.write_text(text)
        with pytest.raises(RunError, match=said):
            load_settings(tmp_path)
    file.write_text('country = "us"\nfollow_on_s = 4')
    settings = load_settings(tmp_path)
    assert (settings.speaks(), settings.drives(), settings.follow_on_s) == ("us", "left", 4.0)
    monkeypatch.setenv("BAYHELPER_DATA", str(tmp_path))
    assert data_folder(None) == tmp_path


def test_clocks():
    start = datetime(2026, 3, 2, tzinfo=UTC)
    clock = ManualClock(start)
    clock.advance(60)
    assert clock.now_utc() == start + timedelta(minutes=1)
    with pytest.raises(RunError, match="cannot go"):
        clock.set_utc(start)
    assert abs(SystemClock().disagreement_s()) < 1
    assert steady_s() <= steady_s() and processor_s() > 0
