"""Stories of the setting window from real audio: trial wipes, a change of air, a clash.

What leads up to them is typed, what they are about is spoken.
"""

import json
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bayhelper.hear.typed import read_typed
from bayhelper.run.clock import ManualClock
from bayhelper.run.parts import open_ear
from bayhelper.run.playback import Take, pause, play
from bayhelper.run.session import open_session
from bayhelper.run.settings import Settings
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.utterance import Utterance
from bayhelper.understand.offer import plain_words

COMMANDS = Path(__file__).parents[2] / "audio_fixtures" / "commands"
BEGAN_UTC = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
SETTINGS = Settings(plan="coat_only", body="saloon")
ANSWERS = ("fits", "level_first")
TO_COATING = (
    "open a new job",
    "start the wash",
    "start inspection",
    "start the panel wipe",
    "roof prepped",
    "bonnet prepped",
    "boot lid prepped",
    "start coating",
)


class Story:
    """A bay on a clock of its own, and what it said so far."""

    def __init__(self, bay, mouth, clock, file):
        self.bay, self.mouth, self.clock, self.file = bay, mouth, clock, file

    def typed(self, *lines):
        for line in lines:
            utterance = Utterance(None, 0.0, 0.0, "typed", typed=line)
            hearing = read_typed(utterance, self.bay.offer(), plain_words)
            assert hearing.accepted, (line, hearing.why)
            self.bay.act_on(hearing, self.clock.now_utc())

    def wait(self, seconds):
        pause(self.bay, self.mouth, self.clock, seconds)

    def spoken(self, name, after_s=0.0):
        """Play a recording; gives what was said since."""
        before = len(self.rows())
        take = Take(COMMANDS / f"{name}.flac", after_s)
        play([take], self.bay, self.mouth, self.clock, fast=True, patience_s=0.8)
        rows = self.rows()[before:]
        heard = [row for row in rows if row["kind"] == "heard"]
        assert heard and all(row["accepted"] for row in heard), heard
        return [row for row in rows if row["kind"] == "said"]

    def rows(self):
        lines = self.file.read_text(encoding="utf-8").splitlines()
        return [json.loads(line) for line in lines]

    def events(self, name):
        return [row for row in self.rows() if row["kind"] == "event" and row["event"] == name]


@pytest.fixture(scope="module")
def ear():
    with open_ear(SETTINGS) as made:
        yield made


@pytest.fixture
def story(ear, tmp_path):
    @contextmanager
    def begun():
        file = tmp_path / "timeline.jsonl"
        with open_session(
            tmp_path,
            SETTINGS,
            ear=ear,
            player=FolderPlayer(tmp_path / "prompts"),
            now_utc=BEGAN_UTC,
            timeline_file=file,
        ) as (bay, mouth):
            yield Story(bay, mouth, ManualClock(BEGAN_UTC), file)

    with begun() as made:
        yield made


def topics(said):
    return [row["topic"] for row in said]


def test_the_trial_procedure_by_voice_finds_the_days_figure(story):
    """First at 40 % of the nominal, then steps of 20 %: 2 and 1 of 5 minutes (common practice)."""
    story.typed(*TO_COATING)
    story.spoken("laying_1")
    story.wait(60)
    story.spoken("covered_1")
    covered_utc = story.bay.job.part("roof").covered_at_utc
    story.wait(125)
    tones = [row for row in story.rows() if row.get("tone") == "soft"]
    assert tones, "a soft tone when a trial may be made"
    wet = story.spoken("trial_1")
    assert topics(wet)[0] == "trial_wet"
    tried_s = (story.clock.now_utc() - covered_utc).total_seconds()
    again_s = story.bay.job.part("roof").window.best_s * 0.2
    assert story.events("TrialMade")[-1]["result"] == "wet"
    clean = story.spoken("trial_2", after_s=again_s)
    assert "trial_clean" in topics(clean) and "day_figure" in topics(clean)
    (figure,) = story.events("DayFigureFound")
    cleaned_s = (story.clock.now_utc() - covered_utc).total_seconds()
    assert tried_s - 10 <= figure["window"]["earliest_s"] <= cleaned_s


def test_a_change_of_air_sets_the_open_clock_anew_and_says_so_once(story):
    story.typed(*TO_COATING)
    story.spoken("set_air_temp_1")
    story.spoken("set_humidity_1")
    story.typed("laying down the roof")
    story.wait(60)
    story.spoken("covered_1")
    before = story.bay.job.part("roof").window
    warmer = story.spoken("set_air_temp_3", after_s=30)
    damper = story.spoken("set_humidity_2")
    after = story.bay.job.part("roof").window
    assert after.best_s < 0.9 * before.best_s
    assert story.events("WindowRetimed")
    assert sum("retimed" in topic for topic in topics(warmer + damper)) >= 1
    again = story.spoken("set_humidity_2", after_s=20)
    assert not any("retimed" in topic for topic in topics(again))


def test_a_clash_is_foretold_and_warned_of(story):
    story.typed(*TO_COATING)
    story.typed("air temperature twenty seven degrees", "humidity eighty percent")
    story.typed("laying down the roof")
    story.wait(100)
    story.typed("roof is on all round", "laying down the bonnet")
    story.wait(60)
    story.typed("bonnet is on all round")
    asked = next(row for row in story.spoken("ask_fits_2") if row["topic"] in ANSWERS)
    assert "now" not in asked["text"], "the roof comes due first"
    said = story.spoken("laying_4")
    assert {"laying", "clash"} <= set(topics(said))
    (off,) = [row for row in story.spoken("ask_all_off_1") if row["topic"] == "all_off"]
    assert off["text"].lower().index("roof") < off["text"].index("bonnet")
