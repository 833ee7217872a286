"""Stories of the setting window from real audio: trial wipes, a change of air, a clash.

What leads up to them is typed, what they are about is spoken.
"""

import pytest

from bayhelper.run.parts import open_ear
from bayhelper.run.settings import Settings
from tests.run.spoken_story import begun, topics

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


@pytest.fixture(scope="module")
def ear():
    with open_ear(SETTINGS) as made:
        yield made


@pytest.fixture
def story(ear, tmp_path):
    with begun(ear, tmp_path, SETTINGS) as made:
        yield made


def test_the_trial_procedure_by_voice_finds_the_days_figure(story):
    """First at 40 % of the nominal, then steps of 20 %: 2 and 1 of 5 minutes (common practice)."""
    story.typed(*TO_COATING)
    story.spoken("laying_1")
    story.wait(60)
    story.spoken("covered_1")
    covered_utc = story.bay.job.part("roof").coat.covered_at_utc
    story.wait(125)
    tones = [row for row in story.rows() if row.get("tone") == "soft"]
    assert tones, "a soft tone when a trial may be made"
    wet = story.spoken("trial_1")
    assert topics(wet)[0] == "trial_wet"
    tried_s = (story.clock.now_utc() - covered_utc).total_seconds()
    again_s = story.bay.job.part("roof").coat.window.best_s * 0.2
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
    before = story.bay.job.part("roof").coat.window
    warmer = story.spoken("set_air_temp_3", after_s=30)
    damper = story.spoken("set_humidity_2")
    after = story.bay.job.part("roof").coat.window
    assert after.best_s < 0.9 * before.best_s
    assert story.events("WindowRetimed")
    assert sum("retimed" in topic for topic in topics(warmer + damper)) >= 1
    again = story.spoken("set_humidity_2", after_s=20)
    assert not any("retimed" in topic for topic in topics(again))


def test_a_clash_is_foretold_and_warned_of(story):
    story.typed(*TO_COATING)
    story.typed("air temperature twenty four degrees", "humidity seventy five percent")
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
