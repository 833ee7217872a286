"""Whether one more panel fits, asked and warned of in a job; the search itself: test_lookahead."""

from dataclasses import replace

import pytest

from bayhelper.decide.acts.fitting import LEVEL_S_PER_M2, REACH_S, in_order, level_s, work_of
from bayhelper.terms.saying import Saying
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker, fields_of, says

PANELS = ("roof", "bonnet", "boot_lid", "left_front_door", "right_front_door", "left_sill")
HUMID = ("set_air_temp temp_c=24", "set_humidity humidity_percent=75")


def at_work(*lines, alone=False):
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, *HUMID, *(f"prepped panel={panel}" for panel in PANELS))
    if alone:
        worker.job = replace(worker.it, technicians=())
    worker.do(*lines)
    return worker


def asked(worker, line="ask_fits"):
    (said,) = says(worker.say(line))
    return said


def laid(panel, seconds, by=""):
    who = f" by={by}" if by else ""
    return (
        f"laying panel={panel}{who}",
        f"wait {seconds}",
        f"covered panel={panel} all_round=true{who}",
    )


def test_with_nothing_open_the_first_ready_panel_may_be_started():
    said = asked(at_work())
    assert said.topic == "fits" and said.in_s == 0
    assert said.part.partition("/")[0] in PANELS


def test_one_person_is_told_to_wait_for_what_comes_due_and_then_it_fits():
    worker = at_work(*laid("roof", 140), *laid("bonnet", 100), alone=True)
    said = asked(worker, "ask_fits panel=boot_lid")
    assert (said.topic, said.first) == ("fits", "roof")
    assert said.in_s >= 60
    worker.do("levelled panel=roof all_round=true", "buffed panel=roof", "wait 80")
    worker.do("levelled panel=bonnet all_round=true", "buffed panel=bonnet")
    assert asked(worker, "ask_fits panel=boot_lid").in_s == 0


def test_what_one_person_cannot_do_two_can():
    lines = (*laid("roof", 140, "Ada"), *laid("bonnet", 100, "Ada"))
    two, one = at_work(*lines), at_work(*laid("roof", 140), *laid("bonnet", 100), alone=True)
    assert asked(two, "ask_fits panel=boot_lid by=Ada").in_s == 0
    assert asked(one, "ask_fits panel=boot_lid").in_s > 0


def test_a_panel_that_is_overdue_goes_before_all_others():
    worker = at_work(*laid("roof", 140), *laid("bonnet", 100), "wait 400", alone=True)
    said = asked(worker)
    assert said.topic == "level_first" and said.part == "roof"


def test_air_in_which_no_panel_is_laid_in_time_does_not_stop_the_job():
    """The roof takes longer than its first strokes last: it is laid, and wiped at once."""
    worker = at_work("set_air_temp temp_c=34", "set_humidity humidity_percent=95", alone=True)
    said = asked(worker, "ask_fits panel=roof")
    assert (said.topic, said.in_s) == ("fits", 0.0)
    worker.do("laying panel=roof", "wait 200", "covered panel=roof all_round=true")
    said = asked(worker)
    assert said.first == "roof" and said.in_s > 0


def test_a_lay_down_that_will_clash_is_warned_of_and_recorded_all_the_same():
    worker = at_work(*laid("roof", 140), *laid("bonnet", 100), alone=True)
    outcome = worker.say("laying panel=boot_lid")
    topics = {say.topic: fields_of(say) for say in outcome.effects if isinstance(say, Saying)}
    assert topics["clash"] == {"part": "roof"}
    assert worker.states()["boot_lid"] == "laying"


def test_a_lay_down_that_fits_is_not_warned_of():
    worker = at_work(*laid("roof", 140), alone=True)
    assert [say.topic for say in says(worker.say("laying panel=left_sill"))] == ["laying"]


def test_everything_off_begins_with_what_grabs_first():
    worker = at_work(*laid("roof", 140), *laid("bonnet", 100), *laid("boot_lid", 60), alone=True)
    assert asked(worker, "ask_all_off").parts == ("roof", "bonnet", "boot_lid")


def test_nothing_need_come_off_while_nothing_is_on():
    assert at_work().topic("ask_all_off") == "not_now"


def test_the_next_panel_is_an_upper_one_beside_the_last_and_ready():
    worker = at_work(*laid("bonnet", 100), alone=True)
    panels = in_order(worker.it)
    heights = [panel.height for panel in panels]
    assert heights == sorted(heights, key=("upper", "lower").index)
    assert {panel.id for panel in panels} == set(PANELS) - {"bonnet"}


def test_levelling_is_learned_from_the_person_who_did_it():
    worker = at_work(*laid("roof", 140, "Ada"), "wait 200")
    roof = worker.it.part("roof")
    m2 = worker.it.body.panel("roof").area_m2
    assert level_s(worker.it, roof, "Ada") == pytest.approx(REACH_S + m2 * LEVEL_S_PER_M2)
    for panel in ("bonnet", "boot_lid", "left_front_door"):
        worker.do(*laid(panel, 60, "Ada"), "wait 200", f"levelled panel={panel} all_round=true")
        worker.do(f"wait {100 * worker.it.body.panel(panel).area_m2}", f"buffed panel={panel}")
    assert level_s(worker.it, roof, "Ada") == pytest.approx(REACH_S + 100 * m2)
    assert level_s(worker.it, roof, "Ben") == pytest.approx(REACH_S + m2 * LEVEL_S_PER_M2)


def test_who_is_laying_is_busy_until_the_usual_end():
    worker = at_work("laying panel=roof by=Ada", "wait 30")
    work = work_of(worker.it, "Ben", worker.now_utc)
    assert work.people == ("Ben", "Ada")
    assert work.free_s[0] == 0 and work.free_s[1] == pytest.approx(
        worker.it.part("roof").coat.usual_s - 30
    )
