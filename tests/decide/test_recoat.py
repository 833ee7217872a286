"""The next layer: its window by panel, over lunch and over night, and the order that keeps it.

One to four hours are those of the demonstration's sheet.
"""

from datetime import timedelta

import pytest

from bayhelper.decide.acts.fitting import in_order
from bayhelper.decide.job.recoat import recoat_times
from bayhelper.terms.events import LayDownStarted
from bayhelper.terms.subjects.asking import NextPanelReply, NextRecoatReply
from bayhelper.terms.subjects.laying import RecoatEarlyGuard
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker, one_said, says
from tests.known import known, known_as

HOUR_S = 3600


def one_layer(panel):
    return (
        f"prepped panel={panel}", f"laying panel={panel}", "wait 60",
        f"covered panel={panel} all_round=true", "wait 300",
        f"levelled panel={panel} all_round=true", f"buffed panel={panel}",
    )  # fmt: skip


def coated(*panels):
    worker = Worker("correction_coat", "saloon")
    worker.do(*TO_COATING, *(line for panel in panels for line in one_layer(panel)))
    return worker


def test_too_early_is_a_guard_that_says_how_long():
    worker = coated("roof")
    worker.do(f"wait {HOUR_S // 2}", "start_layer layer=2")
    said = one_said(worker.say("laying panel=roof"), RecoatEarlyGuard)
    assert said.topic == "recoat_early" and said.off_s == pytest.approx(HOUR_S / 2)
    worker.do("insist")
    assert worker.states()["roof"] == "laying"


def test_over_lunch_it_may_be_coated_again():
    worker = coated("roof")
    worker.do("start_layer layer=2", f"wait {HOUR_S}")
    outcome = worker.say("laying panel=roof")
    (begun,) = [event for event in outcome.events if isinstance(event, LayDownStarted)]
    assert begun.layer == 2


def test_over_night_it_is_too_late_and_the_person_decides():
    worker = coated("roof")
    worker.do("pause_job", f"wait {14 * HOUR_S}", "resume_job", "start_layer layer=2")
    (said,) = says(worker.say("laying panel=roof"))
    missed_utc = known(recoat_times(worker.it, worker.it.part("roof"))).missed_at_utc
    assert said.topic == "recoat_late"
    assert (worker.now_utc - missed_utc).total_seconds() == pytest.approx(10 * HOUR_S)
    worker.do("no")
    assert worker.states()["roof"] == "buffed"


def test_each_panel_has_a_window_of_its_own():
    worker = coated("roof", "bonnet")
    times = [known(recoat_times(worker.it, worker.it.part(panel))) for panel in ("roof", "bonnet")]
    assert times[1].open_at_utc - times[0].open_at_utc == timedelta(seconds=360)


def test_what_was_coated_first_is_coated_again_first():
    """Whatever the car's own order: the bonnet stands before the roof there."""
    worker = coated("roof", "left_front_wing", "bonnet")
    worker.do("start_layer layer=2", f"wait {HOUR_S}")
    assert [panel.id for panel in in_order(worker.it)] == ["roof", "left_front_wing", "bonnet"]
    waiting = known_as(NextPanelReply, says(worker.say("ask_next"))[0])
    assert (waiting.topic, waiting.panel) == ("next_panel", "roof")


def test_before_any_panel_may_be_coated_again_the_wait_is_told():
    worker = coated("roof")
    worker.do("start_layer layer=2", f"wait {HOUR_S // 4}")
    said = known_as(NextRecoatReply, says(worker.say("ask_next"))[0])
    assert said.topic == "next_recoat" and said.panel == "roof"
    assert said.in_s == pytest.approx(HOUR_S * 3 / 4)
