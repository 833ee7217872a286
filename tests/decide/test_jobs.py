"""Whole jobs on both cars by each plan, and the questions that lead through them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bayhelper.decide.acts.catalogue import allowed_panels
from bayhelper.decide.acts.replying import takes
from bayhelper.decide.job.seams import bare_seams, own_panels, unwiped_seams
from bayhelper.decide.replay import fold
from bayhelper.terms.events import QuestionSettled
from bayhelper.terms.subjects.asking import WhereReply
from bayhelper.terms.subjects.wiping import WhichPanelQuestion
from tests.decide.worker import Worker, fields_of, one_said, says
from tests.known import known


def act_on(worker: Worker, panel: str) -> tuple[str, ...]:
    """What is done to a panel in the present stage."""
    stage = worker.it.stage
    if stage == "correction":
        return (
            f"start_panel panel={panel}",
            "polish_on",
            "section_done",
            "pad_cleaned",
            f"finish_panel panel={panel}",
        )
    stale = worker.it.layer == 1 and worker.it.part(panel).state == "stale"
    if stage == "panel_wipe" or stale:
        return (f"prepped panel={panel}",)
    return (f"laying panel={panel}", "wait 60", f"covered panel={panel} all_round=true")


def follow_what_is_next(worker: Worker) -> int:
    """Do what 'what is next' answers until the plan has no more stages; gives how many answers."""
    for number in range(1, 400):
        (said,) = says(worker.do("ask_next"))
        params = fields_of(said)
        if said.topic == "next_panel":
            worker.do(*act_on(worker, str(params["panel"])))
        elif said.topic == "next_wipe":
            worker.wait(max(0.0, float(str(params["in_s"]))))
            panel = params["panel"]
            worker.do(
                f"levelled panel={panel} all_round=true",
                f"buffed panel={panel}",
                f"checked panel={panel}",
            )
        elif said.topic == "next_recoat":
            worker.do(f"wait {params['in_s']}")
        elif said.topic == "next_layer":
            worker.do("wait 3600", f"start_layer layer={params['layer']}")
        elif params["stage"]:
            worker.do(f"start_stage stage={params['stage']}")
        else:
            return number
    raise AssertionError("the job has no end")


@pytest.mark.parametrize("body", ["saloon", "hatchback"])
@pytest.mark.parametrize("plan", ["coat_only", "one_step", "correction_coat"])
def test_following_what_is_next_does_the_whole_car(plan, body):
    worker = Worker(plan, body)
    follow_what_is_next(worker)
    job = worker.it
    panels = own_panels(job)
    assert len(panels) > 10
    assert {job.part(p.id).state for p in panels} == {"done"}
    assert {job.part(p.id).layer for p in panels} == {job.plan.layers}
    assert bare_seams(job) == unwiped_seams(job) == ()
    assert (job.pad.cleanings > 0) == ("polish" in job.plan.products)
    worker.do("asks close_job", "yes")
    assert worker.it.closed_at_utc is not None
    assert fold(worker.it.decisions) == worker.it


def test_where_are_we_counts_panels():
    worker = Worker("coat_only", "saloon")
    worker.do("start_stage stage=inspection", "start_stage stage=panel_wipe", "prepped panel=roof")
    said = one_said(worker.do("ask_where"), WhereReply)
    assert (said.stage, said.done) == ("panel_wipe", 1)
    assert said.total == len(own_panels(worker.it))


COATING = (
    "start_stage stage=inspection",
    "start_stage stage=panel_wipe",
    "prepped panel=roof",
    "prepped panel=bonnet",
    "start_stage stage=coating",
)


def coating(*lines: str) -> Worker:
    worker = Worker("coat_only")
    worker.do(*COATING, *lines)
    return worker


def params(worker: Worker, line: str) -> dict[str, object]:
    (said,) = says(worker.do(line))
    return {"topic": said.topic, **fields_of(said)}


def test_earliest_counts_from_covered_and_latest_from_started():
    worker = coating("laying panel=roof", "wait 120", "covered panel=roof", "wait 60")
    left = params(worker, "ask_remaining panel=roof")
    # The sheet: 300 s from the last stroke, 480 s from the first. Called at the latest 30 s before
    # the panel is closing (a minute before the latest instant).
    assert left["latest_in_s"] == 480 - 120 - 60
    assert left["best_in_s"] == 480 - 60 - 30 - 120 - 60


def test_a_short_lay_down_leaves_the_figure_of_the_sheet():
    worker = coating("laying panel=roof", "wait 60")
    assert params(worker, "covered panel=roof")["wipe_in_s"] == 300


def test_covered_alone_puts_the_start_back_by_the_usual_time():
    worker = coating("wait 200", "covered panel=roof")
    part = worker.it.part("roof")
    assert part.coat.started_assumed and not part.coat.covered_assumed
    assert part.coat.covered_at_utc and part.coat.started_at_utc
    usual_s = 1.6 * worker.it.plan.lay_down_s_per_m2
    assert (part.coat.covered_at_utc - part.coat.started_at_utc).total_seconds() == usual_s


def test_started_alone_is_covered_after_the_usual_time():
    worker = coating("laying panel=roof", "wait 400", "levelled panel=roof")
    part = worker.it.part("roof")
    assert part.coat.covered_assumed and not part.coat.started_assumed
    assert part.coat.covered_at_utc and part.coat.started_at_utc
    assert (part.coat.covered_at_utc - part.coat.started_at_utc).total_seconds() == pytest.approx(
        144
    )


def test_the_persons_own_lay_down_times_are_learned_from_pairs_that_were_said():
    worker = coating()
    for _ in range(4):
        worker.do("laying panel=roof by=Ada", "wait 320", "covered panel=roof by=Ada", "undo")
        worker.do("undo")
    before = worker.it
    assert before.lay_downs == ()
    worker.do("laying panel=roof by=Ada", "wait 320", "covered panel=roof by=Ada all_round=true")
    assert worker.it.lay_downs == (("Ada", 1.6, 320.0),)


def test_halves_have_clocks_of_their_own():
    worker = coating("laying panel=roof half=left", "wait 60", "covered panel=roof half=left")
    worker.do("wait 60", "covered panel=roof half=right", "wait 30")
    parts = worker.it.parts
    assert "roof" not in parts
    starts = [parts[f"roof/{half}"].coat.started_at_utc for half in ("left", "right")]
    assert starts[0] is not None and starts[1] is not None and starts[0] < starts[1]
    worker.do("levelled panel=roof half=left")
    assert worker.states() == {
        "roof/left": "levelled",
        "roof/right": "covered",
        "bonnet": "prepped",
    }


def test_the_other_half_needs_no_name():
    worker = coating("covered panel=roof half=left")
    worker.do("laying panel=roof")
    assert worker.states()["roof/right"] == "laying"


def test_both_halves_are_levelled_together_when_only_the_panel_is_named():
    worker = coating("covered panel=roof half=left", "covered panel=roof half=right")
    worker.do("levelled panel=roof")
    assert {worker.states()[f"roof/{half}"] for half in ("left", "right")} == {"levelled"}


def test_a_half_of_a_panel_that_is_laid_whole_is_refused():
    worker = coating("laying panel=roof")
    assert worker.topic("covered panel=roof half=left") == "panel_not_now"
    assert worker.states()["roof"] == "laying"


def test_a_trial_without_a_panel_means_the_one_that_is_due():
    worker = coating("covered panel=roof all_round=true", "wait 115", "covered panel=bonnet")
    worker.do("wait 10")
    assert params(worker, "trial result=wet")["panel"] == "roof"


def test_when_two_may_be_meant_both_are_named_once():
    worker = coating("covered panel=roof all_round=true", "wait 5", "covered panel=bonnet")
    worker.do("wait 130")
    asked = one_said(worker.say("trial result=wet"), WhichPanelQuestion)
    assert (asked.topic, asked.parts) == ("which_panel", ("roof", "bonnet"))
    assert takes(known(worker.it.question)) == {"choose_panel", "no"}
    assert allowed_panels(worker.it)["choose_panel"] == {"roof", "bonnet"}
    worker.do("choose_panel panel=bonnet")
    assert [(p.key, p.coat.trials[0][1]) for p in worker.it.parts.values() if p.coat.trials] == [
        ("bonnet", "wet")
    ]
    assert worker.it.decisions[-1].command == "trial"
    assert isinstance(worker.it.decisions[-1].events[0], QuestionSettled)
    worker.do("undo")
    assert [p.key for p in worker.it.parts.values() if p.coat.trials] == []


def test_which_panel_can_be_left_or_answered_by_saying_it_in_full():
    for answer, tried in (("no", []), ("trial panel=roof result=clean", ["roof"])):
        worker = coating("covered panel=roof all_round=true", "covered panel=bonnet", "wait 130")
        worker.say("trial result=wet")
        worker.do(answer)
        assert [p.key for p in worker.it.parts.values() if p.coat.trials] == tried
        assert worker.it.question is None
        assert worker.topic("choose_panel panel=roof") == "not_now"


def test_a_yes_does_not_answer_which():
    worker = coating("covered panel=roof all_round=true", "covered panel=bonnet", "wait 130")
    worker.say("trial result=wet")
    assert worker.topic("yes") == "not_now"


def test_naming_a_panel_that_was_not_asked_about_is_refused_for_the_act():
    worker = coating("covered panel=roof half=left", "covered panel=roof half=right", "wait 130")
    worker.say("trial result=wet")
    assert worker.topic("choose_panel panel=bonnet") == "nothing_to_try"


def test_after_a_wet_trial_the_next_comes_a_minute_later():
    # One more minute of a nominal five: common practice, no source.
    worker = coating("covered panel=roof all_round=true", "wait 120")
    assert params(worker, "trial panel=roof result=wet")["again_in_s"] == pytest.approx(60)


def test_open_panels_are_named_when_working_time_stops():
    worker = coating("laying panel=roof")
    assert worker.topic("pause_job") == "pause_open"
    before = worker.it
    assert not before.paused
    worker.do("yes")
    assert worker.it.paused
    assert [p.key for p in worker.it.open_parts()] == ["roof"]


def test_a_question_outlives_another_question_but_no_act():
    worker = coating("laying panel=roof")
    worker.say("pause_job")
    worker.do("ask_open")
    assert worker.it.question is not None
    worker.do("covered panel=roof all_round=true")
    assert worker.it.question is None


def test_each_of_two_people_is_asked_only_about_their_own_panel():
    worker = coating("laying panel=roof by=Ada")
    worker.do("laying panel=bonnet by=Ben")
    assert {p.key: p.coat.by for p in worker.it.open_parts()} == {"bonnet": "Ben", "roof": "Ada"}


def test_work_that_begins_a_stage_begins_it():
    worker = Worker("coat_only")
    worker.do("start_stage stage=inspection", "prepped panel=roof")
    assert worker.it.stage == "panel_wipe"
    worker.do("laying panel=roof")
    assert worker.it.stage == "coating"
    worker.do("undo")
    assert worker.it.stage == "panel_wipe"


def test_cautions_are_said_the_first_time_a_stage_begins():
    worker = Worker("coat_only")
    worker.do("start_stage stage=inspection")
    first = worker.do("start_stage stage=panel_wipe").effects
    worker.do("start_stage stage=coating")
    again = worker.do("start_stage stage=panel_wipe").effects
    assert [e.topic for e in first if hasattr(e, "topic")] == [
        "stage_started",
        "caution",
        "caution",
    ]
    assert [e.topic for e in again if hasattr(e, "topic")] == ["stage_started"]


def test_touching_a_panel_spoils_only_the_half_that_is_bare_clear_coat():
    worker = coating("laying panel=roof half=left", "touched panel=roof")
    assert worker.states()["roof/left"] == "laying"
    assert worker.states()["roof/right"] == "stale"
    assert worker.topic("laying panel=roof half=right") == "prep_stale_guard"


def test_of_two_halves_the_one_that_is_named_is_tried():
    worker = coating("covered panel=roof half=left", "covered panel=roof half=right", "wait 130")
    assert worker.topic("trial result=clean") == "which_panel"
    assert allowed_panels(worker.it)["choose_panel"] == {"roof/left", "roof/right"}
    worker.do("choose_panel panel=roof half=right")
    assert [p.key for p in worker.it.parts.values() if p.coat.trials] == ["roof/right"]


def test_a_plan_whose_coating_has_no_window_lays_nothing():
    worker = coating()
    glossless = {k: replace(p, setting=None) for k, p in worker.it.products.items()}
    worker.job = replace(worker.it, products=glossless)
    assert worker.topic("laying panel=roof") == "no_coating_sheet"
    assert worker.states() == {"roof": "prepped", "bonnet": "prepped"}
