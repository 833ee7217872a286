"""Every item that must be sayable: its command, its recording, its event and its sentence."""

import tomllib
from pathlib import Path

import pytest

from bayhelper.decide.acts.catalogue import ACTS
from bayhelper.remember.codec import event_types
from bayhelper.speak.phrasing import SENTENCES

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
RECORDED = tomllib.loads((FIXTURES / "commands.toml").read_text())["command"]
NO_WORDS = ""
"""Answered by a tone, by sound or by a change of listening only."""
TABLE = {
    "open a job": ("open_job", "JobOpened", "opened"),
    "pause": ("pause_job", "JobPaused", "paused"),
    "resume": ("resume_job", "JobResumed", "resumed"),
    "close a job": ("close_job", "JobClosed", "closed"),
    "air temperature": ("set_air_temp", "AirTempRead", "air"),
    "humidity": ("set_humidity", "HumidityRead", "humidity"),
    "panel temperature": ("set_panel_temp", "PanelTempRead", "panel_temp"),
    "start a stage": ("start_stage", "StageStarted", "stage_started"),
    "finish a stage": ("finish_stage", "StageFinished", "stage_finished"),
    "start a panel": ("start_panel", "PanelStarted", "machining"),
    "finish a panel": ("finish_panel", "PanelFinished", "machined"),
    "panel wipe": ("prepped", "PanelPrepped", "prepped"),
    "touched": ("touched", "PanelTouched", "touched"),
    "dwell": ("start_dwell", "DwellStarted", "dwell_started"),
    "rinsed": ("end_dwell", "DwellEnded", "dwell_ended"),
    "residue left": ("residue_left", "ResidueLeft", "residue_left"),
    "residue wiped": ("residue_wiped", "ResidueWiped", "residue_wiped"),
    "lay-down started": ("laying", "LayDownStarted", "laying"),
    "covered": ("covered", "Covered", "covered"),
    "all round": ("all_round", "SeamLapped", "lapped_all"),
    "a seam lapped": ("lapped", "SeamLapped", "lapped"),
    "how long has it had": ("ask_elapsed", "Spoken", "elapsed"),
    "time left": ("ask_remaining", "Spoken", "remaining"),
    "more time": ("more_time", "TimeExtended", "more_time"),
    "trial wipe": ("trial", "TrialMade", "trial_wet"),
    "levelled": ("levelled", "Levelled", "levelled"),
    "buffed": ("buffed", "Buffed", "buffed"),
    "checked": ("checked", "Checked", "checked"),
    "what is bare": ("ask_bare", "Spoken", "bare"),
    "what is unwiped": ("ask_unwiped", "Spoken", "unwiped"),
    "polish on": ("polish_on", "PolishPutOn", "dirty_pad"),
    "section done": ("section_done", "SectionDone", NO_WORDS),
    "pad cleaned": ("pad_cleaned", "PadCleaned", "pad_cleaned"),
    "pad changed": ("pad_changed", "PadChanged", "pad_changed"),
    "film reading": ("film_reading", "FilmRead", "film"),
    "flag": ("flag_panel", "PanelFlagged", "flagged"),
    "high spot or run": ("defect", "DefectFound", "found_high_spot"),
    "fixed": ("defect_fixed", "DefectFixed", "defect_fixed"),
    "batch": ("batch", "BatchRead", "batch"),
    "fresh applicator": ("applicator_changed", "ApplicatorChanged", "applicator_changed"),
    "fresh towels": ("towels_changed", "TowelsChanged", "towels_changed"),
    "back to correction": ("back_to_correction", "SentBack", "sent_back"),
    "next layer": ("start_layer", "LayerStarted", "layer"),
    "note": ("take_note", "NoteStarted", NO_WORDS),
    "end of note": ("end_note", "NoteEnded", "note_kept"),
    "read back the last note": ("read_note", "Spoken", "note_reads"),
    "what is next": ("ask_next", "Spoken", "next_panel"),
    "does it fit": ("ask_fits", "Spoken", "fits"),
    "everything off": ("ask_all_off", "Spoken", "all_off"),
    "where are we": ("ask_where", "Spoken", "where"),
    "what is open": ("ask_open", "Spoken", "open"),
    "say again": ("say_again", "Spoken", "again"),
    "undo": ("undo", "Undone", "undone"),
    "that was wrong": ("that_was_wrong", "Misheard", "misheard"),
    "yes": ("yes", "QuestionSettled", NO_WORDS),
    "no": ("no", "QuestionSettled", "left_alone"),
    "which of two": ("choose_panel", "QuestionSettled", "which_panel"),
    "insist": ("insist", "QuestionSettled", NO_WORDS),
    "answered": ("answered", "AlertAnswered", NO_WORDS),
    "hush": ("hush", "AlertAnswered", NO_WORDS),
    "quieter": ("quieter", "Spoken", "quieter"),
    "louder": ("louder", "Spoken", "louder"),
    "sleep": ("sleep", "ListeningSet", "asleep"),
    "wake": ("wake", "ListeningSet", "awake"),
}


def test_no_command_is_left_out():
    assert {command for command, _, _ in TABLE.values()} == set(ACTS)


@pytest.mark.parametrize("item", TABLE)
def test_each_item_has_recording_event_and_sentence(item):
    command, event, topic = TABLE[item]
    recordings = [row for row in RECORDED if row["command"] == command]
    assert recordings, f"no recording says {command}"
    assert all((FIXTURES / row["file"]).is_file() for row in recordings)
    assert event in event_types()
    assert topic == NO_WORDS or topic in SENTENCES
