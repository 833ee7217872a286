"""Mirrors and pillars that are done first with their panel: an older clock, named first."""

from bayhelper.decide.due.alerts import tick
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.names import Names
from bayhelper.speak.warnings import warning
from bayhelper.terms.saying import DueAlert, Saying
from bayhelper.terms.subjects.asking import AllOffReply, BareReply, NextWipeReply, OpenReply
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker, best_utc, one_said, says
from tests.known import known, known_as

DOOR = ("prepped panel=left_front_door", "laying panel=left_front_door", "wait 86")
COVERED = "covered panel=left_front_door all_round=true"


def worker_at_door():
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, *DOOR)
    return worker


def test_the_mirror_was_covered_first_by_its_share_of_the_area():
    worker = worker_at_door()
    worker.do(COVERED)
    mirror, door = worker.it.part("left_mirror"), worker.it.part("left_front_door")
    assert mirror.state == "covered" and mirror.coat.included_in == "left_front_door"
    assert mirror.coat.started_at_utc == door.coat.started_at_utc
    assert (
        known(mirror.coat.covered_at_utc) - known(door.coat.started_at_utc)
    ).total_seconds() == 6.0  # 86 x 0.06 / 0.86
    assert (best_utc(door) - best_utc(mirror)).total_seconds() == 80.0


def test_what_is_open_or_comes_next_names_it_first():
    worker = worker_at_door()
    worker.do(COVERED)
    said = one_said(worker.say("ask_open"), OpenReply)
    assert said.parts == ("left_mirror", "left_front_door")
    assert known_as(NextWipeReply, says(worker.say("ask_next"))[0]).panel == "left_mirror"
    off = one_said(worker.say("ask_all_off"), AllOffReply)
    assert off.parts == ("left_mirror", "left_front_door")


def test_one_sentence_calls_for_both_when_the_mirror_is_due():
    worker = worker_at_door()
    worker.do(COVERED)
    due_utc = best_utc(worker.it.part("left_mirror"))
    outcome = tick(worker.it, due_utc)
    (said,) = [e for e in outcome.effects if isinstance(e, Saying)]
    assert isinstance(said, DueAlert)
    assert tuple(one.subject for one in said.called) == ("left_mirror", "left_front_door")
    names = Names(load_body("saloon"), "uk")
    assert warning(said, names) == "Left mirror and left front door. Wipe."


def test_no_panel_is_called_before_its_own_earliest_instant():
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, "prepped panel=left_front_door", "laying panel=left_front_door")
    worker.do("wait 300", COVERED)
    outcome = tick(worker.it, best_utc(worker.it.part("left_mirror")))
    alerts = [
        known_as(DueAlert, e) for e in outcome.effects if known_as(Saying, e).topic == "wipe_now"
    ]
    subjects = {one.subject for alert in alerts for one in alert.called}
    assert subjects == {"left_mirror"}


def test_levelling_and_buffing_the_panel_take_it_along():
    worker = worker_at_door()
    worker.do(COVERED, "wait 240", "levelled panel=left_front_door all_round=true")
    assert worker.states()["left_mirror"] == "levelled"
    worker.do("buffed panel=left_front_door", "checked panel=left_front_door")
    assert worker.states()["left_mirror"] == "done"


def test_it_can_be_wiped_by_itself():
    worker = worker_at_door()
    worker.do(COVERED, "wait 230", "levelled panel=left_mirror")
    assert worker.states()["left_mirror"] == "levelled"
    assert worker.states()["left_front_door"] == "covered"


def test_the_seam_between_them_is_never_bare_and_its_others_count_as_the_panels():
    worker = worker_at_door()
    worker.do(COVERED)
    said = one_said(worker.say("ask_bare"), BareReply)
    assert not [seam for seam in said.seams if "left_mirror" in seam]


def test_a_second_layer_goes_over_it_as_well():
    worker = Worker("correction_coat", "saloon")
    worker.do(*TO_COATING, *DOOR, COVERED, "wait 300", "levelled panel=left_front_door")
    worker.do("buffed panel=left_front_door", "start_layer layer=2", "wait 3700")
    worker.do("laying panel=left_front_door", "wait 60", COVERED)
    assert worker.it.part("left_mirror").layer == 2
