"""Undo: the job is as if the act had not been, and the fold is the only way it changes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayhelper.decide.acts.catalogue import ACTS
from bayhelper.decide.acts.talk import undoable
from bayhelper.decide.job.fold import CHANGES
from bayhelper.decide.replay import fold
from bayhelper.remember.codec import event_types
from bayhelper.terms import events as ev
from bayhelper.terms.errors import DecisionError
from tests.decide.stories import STORIES
from tests.decide.worker import Worker, bare_of_talk, fields_of, instances

LEADS = {
    "intake": (),
    "correction": ("start_stage stage=inspection", "start_stage stage=correction"),
    "coating": (
        "start_stage stage=inspection",
        "start_stage stage=correction",
        "start_stage stage=coating",
        "prepped panel=roof",
        "prepped panel=bonnet",
    ),
}
NEVER = frozenset({"close_job", "undo", "that_was_wrong", "sleep"})


def line_of(command) -> str:
    slots = " ".join(f"{k}={str(v).lower()}" for k, v in command.slots.items())
    return f"{command.name} {slots}".strip()


def choose(worker: Worker, choice: int) -> str:
    able = [c for c in instances(worker.it, ("roof", "bonnet"), halves=True) if c.name not in NEVER]
    return line_of(able[choice % len(able)])


PICKS = st.lists(
    st.tuples(st.integers(0, 10_000), st.sampled_from((0, 0, 0, 7, 130, 4000))),
    min_size=1,
    max_size=25,
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(lead=st.sampled_from(sorted(LEADS)), picks=PICKS)
def test_taking_back_any_act_gives_the_job_before_it(lead, picks):
    worker = Worker("correction_coat")
    worker.do(*LEADS[lead])
    for choice, wait_s in picks:
        worker.wait(wait_s)
        before = worker.it
        worker.say(choose(worker, choice))
        done = worker.it
        if undoable(done, ACTS) == done.decisions[-1]:
            worker.say("undo")
            assert bare_of_talk(worker.it) == bare_of_talk(before)
            worker.job = done
    assert fold(worker.it.decisions) == worker.it


@settings(max_examples=60, deadline=None, derandomize=True)
@given(lead=st.sampled_from(sorted(LEADS)), picks=PICKS)
def test_taking_everything_back_gives_the_job_as_it_was_opened(lead, picks):
    worker = Worker("correction_coat")
    opened = bare_of_talk(worker.it)
    worker.do(*LEADS[lead])
    for choice, wait_s in picks:
        worker.wait(wait_s)
        worker.say(choose(worker, choice))
        assert fold(worker.it.decisions) == worker.it
    while undoable(worker.it, ACTS) is not None:
        worker.say("undo")
    assert bare_of_talk(worker.it) == opened


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name)
def test_every_act_of_a_story_can_be_taken_back(story):
    worker = Worker(story.plan)
    for line in story.lines:
        before = worker.it
        worker.do(line)
        name = line.split()[0]
        if name in ("wait", "asks") or not ACTS[name].taken_back:
            continue
        done = worker.it
        worker.do("undo")
        assert bare_of_talk(worker.it) == bare_of_talk(before), line
        worker.job = done


def test_undo_says_what_it_took_back_and_goes_further_back():
    worker = Worker()
    worker.do("set_air_temp temp_c=21", "set_humidity humidity_percent=50", "ask_where")
    outcomes = [worker.do("undo") for _ in range(2)]
    said = [outcome.effects[0].act for outcome in outcomes]
    assert said == ["Humidity", "Air temperature"]
    assert worker.topic("undo") == "nothing_to_undo"


def test_undo_restores_the_clock_of_the_panel():
    worker = Worker()
    worker.do(
        *("start_stage stage=inspection", "start_stage stage=panel_wipe", "prepped panel=roof"),
        *("laying panel=roof", "wait 90", "covered panel=roof", "wait 100"),
    )
    clock = worker.it.part("roof")
    worker.do("levelled panel=roof", "wait 20", "undo")
    assert worker.it.part("roof") == clock


def test_what_time_brought_in_between_stays_only_where_it_fits():
    worker = Worker()
    worker.do("start_stage stage=inspection", "start_stage stage=panel_wipe")
    worker.do("prepped panel=roof", "wait 4000")
    assert worker.states() == {"roof": "stale"}
    worker.do("undo")
    assert worker.states() == {}


def test_an_insisted_act_is_taken_back_as_itself():
    worker = Worker()
    worker.do("start_stage stage=inspection", "start_stage stage=panel_wipe")
    worker.say("laying panel=roof")
    worker.do("insist")
    (said, *_) = worker.do("undo").effects
    assert fields_of(said) == {"act": "Lay-down", "panel": "roof"}
    assert worker.it.stage == "panel_wipe"


def test_a_record_that_does_not_begin_at_the_beginning_is_refused():
    worker = Worker()
    worker.do("set_air_temp temp_c=21")
    with pytest.raises(DecisionError, match="JobOpened"):
        fold(worker.it.decisions[1:])
    with pytest.raises(DecisionError):
        fold(())


def test_an_alert_or_fact_that_nobody_knows_is_refused():
    worker = Worker()
    raised = ev.AlertRaised(
        at_utc=worker.now_utc, alert="gong", subject="roof", due_at_utc=worker.now_utc
    )
    number = worker.it.number + 1
    told = ev.Decision(
        job="j1", number=number, at_utc=worker.now_utc, cause="deadline", events=(raised,)
    )
    with pytest.raises(DecisionError, match="alert 'gong', but the kinds are"):
        fold((*worker.it.decisions, told))
    strange = replace(told, events=(ev.Event(at_utc=worker.now_utc),))
    with pytest.raises(DecisionError, match="Event has no change"):
        fold((*worker.it.decisions, strange))


def test_every_fact_but_the_opening_has_its_change():
    assert set(event_types().values()) - {ev.JobOpened} == set(CHANGES)
