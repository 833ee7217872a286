"""Every item that must be sayable: a recording of it is heard, recorded as an event, answered."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from bayhelper.decide.acts.catalogue import ACTS
from bayhelper.remember.history import History
from bayhelper.run.bay.playback import Take, play
from bayhelper.run.parts import open_ear
from bayhelper.run.settings import Settings
from bayhelper.terms.events import SpeechHeard, Spoken
from tests.run.spoken_story import begun

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
NO_WORDS = ""
"""Answered by a tone, by sound or by a change of listening only."""
TABLE = {
    "open a job": ("open_job", "JobOpened", "opened"),
    "pause": ("pause_job", "JobPaused", "paused"),
    "resume": ("resume_job", "JobResumed", "resumed"),
    "close a job": ("close_job", "QuestionAsked", "close_sure"),
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
    "polish on": ("polish_on", "PolishPutOn", NO_WORDS),
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
    "yes": ("yes", "JobClosed", "closed"),
    "no": ("no", "QuestionSettled", "left_alone"),
    "which of two": ("choose_panel", "TrialMade", "trial_wet"),
    "insist": ("insist", "PolishPutOn", NO_WORDS),
    "answered": ("answered", "AlertAnswered", NO_WORDS),
    "hush": ("hush", "AlertAnswered", NO_WORDS),
    "quieter": ("quieter", "Spoken", "quieter"),
    "louder": ("louder", "Spoken", "louder"),
    "sleep": ("sleep", "ListeningSet", "asleep"),
    "wake": ("wake", "ListeningSet", "awake"),
}


@dataclass(frozen=True)
class Say:
    """An item of TABLE is spoken."""

    item: str
    """Which one."""
    recording: str
    """Of audio_fixtures/commands."""


NOTE = FIXTURES / "other_talk" / "talk_01.flac"
"""Any words: in a note they are kept as they are."""
STORIES = {
    "before the coat": (
        Settings(plan="one_step", body="saloon"),
        Say("open a job", "open_job_3"),
        Say("air temperature", "set_air_temp_1"),
        Say("humidity", "set_humidity_1"),
        Say("where are we", "ask_where_1"),
        Say("say again", "say_again_1"),
        Say("quieter", "quieter_1"),
        Say("louder", "louder_1"),
        Say("sleep", "sleep_1"),
        Say("wake", "wake_1"),
        Say("start a stage", "start_stage_1"),
        Say("dwell", "start_dwell_1"),
        200.0,
        Say("rinsed", "end_dwell_1"),
        Say("finish a stage", "finish_stage_1"),
        Say("pause", "pause_job_1"),
        Say("resume", "resume_job_1"),
        "start inspection",
        Say("film reading", "film_reading_1"),
        Say("flag", "flag_panel_2"),
        Say("note", "take_note_2"),
        NOTE,
        Say("end of note", "end_note_1"),
        Say("read back the last note", "read_note_1"),
        Say("close a job", "close_job_1"),
        Say("yes", "yes_1"),
    ),
    "correction": (
        Settings(plan="one_step", body="saloon"),
        "open a new job",
        "start the wash",
        "start inspection",
        "start the correction",
        Say("start a panel", "start_panel_1"),
        Say("polish on", "polish_on_1"),
        Say("section done", "section_done_1"),
        "polish on the pad",
        Say("no", "no_1"),
        "polish on the pad",
        Say("insist", "insist_2"),
        Say("pad cleaned", "pad_cleaned_1"),
        Say("pad changed", "pad_changed_1"),
        Say("finish a panel", "finish_panel_1"),
        Say("residue left", "residue_left_1"),
        Say("residue wiped", "residue_wiped_1"),
    ),
    "coating": (
        Settings(plan="coat_only", body="saloon"),
        "open a new job",
        "start the wash",
        "start inspection",
        "start the panel wipe",
        "bonnet prepped",
        "right rear door prepped",
        "left front door prepped",
        Say("panel wipe", "prepped_1"),
        Say("touched", "touched_1"),
        "start coating",
        Say("batch", "batch_1"),
        Say("fresh applicator", "applicator_changed_1"),
        Say("fresh towels", "towels_changed_1"),
        Say("what is next", "ask_next_1"),
        Say("lay-down started", "laying_1"),
        Say("panel temperature", "set_panel_temp_3"),
        30.0,
        Say("covered", "covered_1"),
        Say("does it fit", "ask_fits_3"),
        Say("what is bare", "ask_bare_1"),
        Say("all round", "all_round_1"),
        Say("undo", "undo_1"),
        "roof lapped all round",
        Say("how long has it had", "ask_elapsed_1"),
        Say("time left", "ask_remaining_1"),
        Say("what is open", "ask_open_1"),
        Say("everything off", "ask_all_off_1"),
        Say("more time", "more_time_2"),
        Say("trial wipe", "trial_1"),
        250.0,
        Say("answered", "answered_1"),
        Say("that was wrong", "that_was_wrong_1"),
        100.0,
        Say("hush", "hush_1"),
        Say("levelled", "levelled_1"),
        Say("what is unwiped", "ask_unwiped_1"),
        Say("buffed", "buffed_1"),
        Say("checked", "checked_1"),
    ),
    "two panels": (
        Settings(plan="correction_coat", body="saloon"),
        "open a new job",
        "start the wash",
        "start decontamination",
        "start inspection",
        "start the correction",
        "start the panel wipe",
        "roof prepped",
        "left front door prepped",
        "right front door prepped",
        "start coating",
        "laying down the left front door",
        30.0,
        "left front door is on",
        Say("a seam lapped", "lapped_1"),
        "left front door lapped all round",
        "laying down the roof",
        30.0,
        "roof is on all round",
        200.0,
        "trial wipe still wet",
        Say("which of two", "choose_panel_1"),
        60.0,
        "left front door levelled all round",
        "left front door buffed",
        "roof levelled all round",
        "roof buffed",
        Say("high spot or run", "defect_1"),
        Say("fixed", "defect_fixed_1"),
        "right front door is on all round",
        300.0,
        "right front door levelled all round",
        "right front door buffed",
        7200.0,
        "high spot on the right front door rear edge",
        Say("back to correction", "back_to_correction_1"),
        Say("next layer", "start_layer_2"),
    ),
}


def decisions(folder):
    with History.open(folder) as history:
        return [d for job in history.jobs() for d in history.decisions(job)]


@pytest.fixture(scope="module")
def ear():
    with open_ear(Settings()) as made:
        yield made


def test_no_command_is_left_out():
    assert {command for command, _, _ in TABLE.values()} == set(ACTS)
    spoken = [
        step.item for _, *steps in STORIES.values() for step in steps if isinstance(step, Say)
    ]
    assert sorted(spoken) == sorted(TABLE), "each item is spoken once"


@pytest.mark.parametrize("name", STORIES)
def test_each_item_is_heard_recorded_and_answered(name, ear, tmp_path):
    settings, *steps = STORIES[name]
    with begun(ear, tmp_path, settings) as story:
        for step in steps:
            if isinstance(step, str):
                story.typed(step)
            elif isinstance(step, Path):
                play([Take(step)], story.session, story.clock, fast=True, patience_s=0.8)
            elif isinstance(step, float):
                story.wait(step)
            else:
                spoken(story, step, tmp_path)


def spoken(story, step, folder):
    command, event, topic = TABLE[step.item]
    before = len(decisions(folder))
    story.spoken(step.recording, after_s=0.5)
    since = [e for d in decisions(folder)[before:] for e in d.events]
    (heard,) = [e for e in since if isinstance(e, SpeechHeard)]
    assert (heard.command, heard.accepted) == (command, True), step
    assert event in {type(e).__name__ for e in since}, (step, since)
    said = {e.topic for e in since if isinstance(e, Spoken)}
    assert topic == NO_WORDS or topic in said, (step, said)
