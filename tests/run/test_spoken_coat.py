"""Stories of a coat from real audio: a second layer next morning, a late high spot, seams.

What leads up to them is typed, what they are about is spoken.
"""

import pytest

from bayhelper.run.parts import open_ear
from bayhelper.run.settings import Settings
from tests.run.spoken_story import begun, topics

SETTINGS = Settings(plan="correction_coat", body="saloon")
HOUR_S = 3600.0
TO_COATING = (
    "open a new job", "start the wash", "start decontamination", "start inspection",
    "start the correction", "start the panel wipe", "roof prepped", "left front door prepped",
    "start coating",
)  # fmt: skip


@pytest.fixture(scope="module")
def ear():
    with open_ear(SETTINGS) as made:
        yield made


@pytest.fixture
def story(ear, tmp_path):
    with begun(ear, tmp_path, SETTINGS) as made:
        made.typed(*TO_COATING)
        yield made


def coat(story, panel, wiped=" all round"):
    story.typed(f"laying down the {panel}")
    story.wait(60)
    story.typed(f"{panel} is on all round")
    story.wait(300)
    story.typed(f"{panel} levelled{wiped}", f"{panel} buffed")


def test_a_second_layer_next_morning_is_too_late_and_the_person_decides(story):
    coat(story, "roof")
    story.typed("pause the job")
    story.wait(14 * HOUR_S)
    missed = [row for row in story.events("AlertRaised") if row["alert"] == "recoat_missed"]
    assert [row["subject"] for row in missed] == ["roof"] * 2, "once more, not all night"
    story.spoken("resume_job_1")
    story.spoken("start_layer_2")
    assert topics(story.spoken("laying_1")) == ["recoat_late"]
    assert story.bay.job.part("roof").state == "buffed"
    story.spoken("insist_2")
    (again,) = [row for row in story.events("LayDownStarted") if row["layer"] == 2]
    assert (again["panel"], again["insisted"]) == ("roof", True)


def test_a_second_layer_over_lunch_is_in_its_time(story):
    coat(story, "roof")
    story.wait(1.5 * HOUR_S)
    story.spoken("start_layer_2")
    assert "laying" in topics(story.spoken("laying_1"))
    assert story.bay.job.part("roof").layer == 2


def test_a_late_high_spot_goes_back_through_everything(story):
    coat(story, "left front door")
    story.wait(2 * HOUR_S)
    (said,) = story.spoken("defect_1")
    assert said["topic"] == "found_late" and "two hours old" in said["text"]
    story.typed("send the left front door back to correction")
    assert story.bay.job.part("left_front_door").state == "rework"
    story.spoken("start_stage_4")
    assert story.bay.job.stage == "correction"


def test_an_early_high_spot_is_levelled_and_looked_at_again(story):
    coat(story, "left front door")
    story.typed("looked over the left front door")
    story.wait(120)
    assert topics(story.spoken("defect_1")) == ["found_high_spot"]
    story.spoken("defect_fixed_1")
    story.wait(610)
    looks = [row for row in story.events("AlertRaised") if row["alert"] == "look_again"]
    assert [row["subject"] for row in looks] == ["left_front_door"]


def test_what_is_unwiped_is_told_when_it_is_asked_and_when_the_panel_is_left(story):
    coat(story, "roof", wiped="")
    left = [row for row in story.rows() if row["kind"] == "said" and row["topic"] == "unwiped"]
    assert len(left) == 1, "told at the buffing"
    (said,) = story.spoken("ask_unwiped_1")
    assert said["topic"] == "unwiped" and "roof" in said["text"].lower()
