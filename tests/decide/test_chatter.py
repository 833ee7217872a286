"""How much is said: the facts are the same at each level, and nothing that is needed goes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bayhelper.decide.acts.catalogue import ACTS
from bayhelper.decide.decide import decide
from bayhelper.terms.effects import Chatter, Tone
from bayhelper.terms.saying import Saying
from tests.decide.stories import CLOSED, STORIES, TO_COATING
from tests.decide.worker import DESK, Worker, command_of, says

QUIET = replace(DESK, chatter="quiet")


def quietly(worker: Worker, line: str):
    """What a quiet shop hears of a command; the job goes on as ever."""
    outcome = decide(worker.job, command_of(line), worker.now_utc, QUIET)
    worker.say(line)
    return outcome.effects


def at_work(*lines: str) -> Worker:
    worker = Worker()
    worker.do(*lines)
    return worker


@pytest.mark.parametrize(
    "line",
    ["prepped panel=roof", "touched panel=roof", "laying panel=bonnet", "start_stage stage=cure"],
)
def test_an_act_is_answered_with_a_short_tone(line):
    worker = at_work(*TO_COATING, "prepped panel=roof", "prepped panel=bonnet")
    assert quietly(worker, line)[0] == Tone("noted")


def test_answers_refusals_and_questions_are_said():
    worker = at_work(*TO_COATING, "prepped panel=roof", "laying panel=roof")
    for line, topic in (
        ("ask_where", "where"),
        ("ask_elapsed panel=roof", "elapsed"),
        ("laying panel=bonnet", "not_prepped"),
        ("ask_bare", "bare"),
        ("levelled panel=bonnet", "not_covered"),
        ("close_job", "close_open"),
        ("say_again", "again"),
    ):
        (said,) = quietly(worker, line)
        assert said.topic == topic


@pytest.mark.parametrize(
    ("line", "topic"),
    [
        ("set_air_temp temp_c=21", "air"),
        ("set_humidity humidity_percent=50", "humidity"),
        ("film_reading panel=roof film_um=110", "film"),
        ("more_time panel=roof minutes=2", "more_time"),
    ],
)
def test_numbers_are_always_read_back(line, topic):
    worker = at_work(*TO_COATING, "prepped panel=roof", "laying panel=roof")
    (said,) = quietly(worker, line)
    assert said.topic == topic


def test_cautions_and_what_was_taken_back_are_said():
    worker = at_work("start_stage stage=inspection")
    effects = quietly(worker, "start_stage stage=panel_wipe")
    assert effects[0] == Tone("noted")
    assert {e.topic for e in effects[1:]} == {"caution"}
    (undone,) = quietly(worker, "undo")
    assert undone.topic == "undone"


@pytest.mark.parametrize(("result", "said"), [("clean", True), ("grabbing", True), ("wet", False)])
def test_a_trial_that_calls_for_wiping_is_said(result, said):
    worker = at_work(*TO_COATING, "prepped panel=roof", "covered panel=roof all_round=true")
    worker.wait(130)
    (effect,) = quietly(worker, f"trial panel=roof result={result}")
    assert isinstance(effect, Saying) is said


def test_the_ear_listens_the_same_at_each_level():
    worker = at_work()
    (told,) = quietly(worker, "sleep")
    assert told.topic == "asleep" and worker.it.asleep
    assert quietly(worker, "wake") == (Tone("noted"),)
    assert not worker.it.asleep


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name)
def test_the_facts_are_the_same_and_quiet_says_less(story):
    worker = Worker(story.plan)
    counts: dict[Chatter, int] = {"normal": 0, "quiet": 0, "teaching": 0}
    for line in story.lines:
        bare = line.removeprefix("asks ")
        if bare.split()[0] in ACTS:
            command = command_of(bare)
            outcomes = {
                level: decide(worker.job, command, worker.now_utc, replace(DESK, chatter=level))
                for level in counts
            }
            assert len({repr(outcome.events) for outcome in outcomes.values()}) == 1
            for level, outcome in outcomes.items():
                counts[level] += len(says(outcome))
                assert outcome.effects, line
        worker.do(line)
    assert counts["quiet"] <= counts["normal"] == counts["teaching"]
    if len(story.lines) > len(CLOSED):
        assert counts["quiet"] < counts["normal"]
