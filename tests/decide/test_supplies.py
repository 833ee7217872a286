"""Batch, applicator and towels; surfaces that the sheet is not for, too hot or about to sweat."""

import pytest

from bayhelper.decide.decide import decide
from bayhelper.decide.due.alerts import tick
from bayhelper.decide.due.deadlines import deadlines
from bayhelper.decide.job.finish import gentle, surface
from bayhelper.decide.job.fold import apply_events
from bayhelper.terms.command import Command
from bayhelper.terms.saying import DueAlert
from bayhelper.terms.subjects.laying import NotForItGuard, SurfaceTempGuard
from tests.decide.stories import TO_COATING
from tests.decide.worker import DESK, Worker, one_said, says

PANELS = ("bonnet", "roof", "boot_lid", "left_front_wing", "left_front_door", "left_rear_door",
          "left_quarter")  # fmt: skip


def at_coating(*lines, body="saloon"):
    worker = Worker("coat_only", body)
    worker.do(*TO_COATING, *lines)
    return worker


def lay(worker, panel):
    """Prepare, lay and cover a panel; gives what was said when the product went on."""
    worker.do(f"prepped panel={panel}")
    said = says(worker.do(f"laying panel={panel}"))
    worker.do("wait 60", f"covered panel={panel} all_round=true")
    return [say.topic for say in said], said


def wipe(worker, panel):
    worker.do("wait 300", f"levelled panel={panel} all_round=true", f"buffed panel={panel}")


def test_batch_and_surface_are_asked_for_once_a_job():
    worker = at_coating()
    topics, said = lay(worker, "roof")
    assert topics == ["laying", "before_first"]
    assert said[-1].missing == ("batch", "surface")
    assert lay(worker, "bonnet")[0] == ["laying"]


def test_what_was_told_is_not_asked_for():
    worker = at_coating("set_panel_temp temp_c=20")
    told = decide(worker.it, Command("batch", {"batch": "4072"}), worker.now_utc, DESK)
    worker.job = apply_events(worker.it, told.events)
    assert worker.it.batch == "4072"
    assert lay(worker, "roof")[1][-1].missing == ()


def test_a_fresh_applicator_is_to_be_primed_once():
    worker = at_coating()
    lay(worker, "roof")
    worker.do("applicator_changed")
    assert lay(worker, "bonnet")[0] == ["laying", "applicator_fresh"]
    assert lay(worker, "boot_lid")[0] == ["laying"]


def test_an_applicator_that_stood_for_more_than_half_an_hour_is_told():
    worker = at_coating()
    lay(worker, "roof")
    wipe(worker, "roof")
    worker.do("wait 1400")
    assert lay(worker, "bonnet")[0] == ["laying"]
    worker.do("wait 1801")
    topics, said = lay(worker, "boot_lid")
    assert topics == ["laying", "applicator_stood"]
    assert said[-1].stood_s == pytest.approx(1801)


def test_towels_are_to_be_changed_once_after_six_panels_and_again_after_six_more():
    worker = at_coating()
    due = []
    for panel in PANELS:
        lay(worker, panel)
        wipe(worker, panel)
        due.append([d.due_at_utc for d in deadlines(worker.it) if d.alert == "towels_due"])
    assert due[:5] == [[]] * 5 and len(due[5]) == 1 and due[6] == due[5]
    worker.do("wait 4000")
    assert not [e for e in tick(worker.it, worker.now_utc).effects if isinstance(e, DueAlert)
                and "towels_due" in [one.alert for one in e.called]]  # fmt: skip
    worker.do("towels_changed")
    assert not [d for d in deadlines(worker.it) if d.alert == "towels_due"]


@pytest.mark.parametrize(
    ("flag", "found", "careful"),
    [
        ("normal", "paint", False),
        ("repainted", "repaint", False),
        ("single_stage", "single_stage", False),
        ("thin", "paint", True),
        ("matte", "matte", True),
        ("wrapped", "wrap", True),
        ("plastic", "plastic", True),
    ],
)
def test_never_machine_matte_never_compound_film(flag, found, careful):
    """Common practice, no source."""
    worker = at_coating(f"flag_panel panel=roof flag={flag}")
    assert surface(worker.it, "roof") == found and gentle(worker.it, "roof") is careful


def test_gloss_on_matte_paint_needs_insisting():
    worker = at_coating("flag_panel panel=roof flag=matte", "prepped panel=roof")
    said = one_said(worker.say("laying panel=roof"), NotForItGuard)
    assert (said.topic, said.surface) == ("not_for_it", "matte")
    worker.do("insist")
    assert worker.states()["roof"] == "laying"


@pytest.mark.parametrize(("temp_c", "topic"), [(9.0, "surface_temp"), (31.0, "surface_temp")])
def test_a_surface_outside_the_sheets_range_needs_insisting(temp_c, topic):
    worker = at_coating(f"set_panel_temp panel=roof temp_c={temp_c}", "prepped panel=roof")
    said = one_said(worker.say("laying panel=roof"), SurfaceTempGuard)
    assert said.topic == topic and said.hot is (temp_c > 30)
    worker.do("prepped panel=bonnet", "laying panel=bonnet")


def test_a_surface_near_the_dew_point_needs_insisting_unless_the_panel_itself_is_warm():
    """Air of 25 degrees at 80 percent has its dew point at 21.3 degrees (Magnus' formula)."""
    wet = ("set_air_temp temp_c=25", "set_humidity humidity_percent=80", "set_panel_temp temp_c=22")
    worker = at_coating(*wet, "prepped panel=roof", "prepped panel=bonnet")
    assert says(worker.say("laying panel=roof"))[0].topic == "would_sweat"
    worker.do("set_panel_temp panel=bonnet temp_c=27", "laying panel=bonnet")


def test_water_on_a_fresh_coating_is_blotted_and_looked_at_again():
    worker = at_coating()
    lay(worker, "left_front_door")
    wipe(worker, "left_front_door")
    worker.do("wait 3000", "checked panel=left_front_door")
    (said,) = says(worker.say("defect panel=left_front_door kind=water"))
    assert said.topic == "found_water"
    worker.do("wait 20", "defect_fixed panel=left_front_door kind=water")
    looks = [d.subject for d in deadlines(worker.it) if d.alert == "look_again"]
    assert looks == ["left_front_door"]
