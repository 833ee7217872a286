"""Where somebody stands, what is asked about seams there, and seams that are spared."""

from dataclasses import replace

from bayhelper.decide.job.seams import bare_seams, unwiped_seams
from bayhelper.decide.job.walking import in_walking_order, stands_at
from bayhelper.terms.events import JobClosed
from bayhelper.terms.subjects.asking import UnwipedReply
from bayhelper.terms.subjects.job import CloseOpenQuestion
from bayhelper.terms.subjects.laying import LappedAllReply
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker, one_said, says
from tests.known import known_as

PANELS = ("roof", "bonnet", "left_front_door", "right_front_door", "boot_lid")


def coating(*lines):
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, *(f"prepped panel={panel}" for panel in PANELS), *lines)
    return worker


def coated(panel, by=""):
    who = f" by={by}" if by else ""
    return (
        f"laying panel={panel}{who}",
        "wait 60",
        f"covered panel={panel} all_round=true{who}",
        "wait 200",
        f"levelled panel={panel}{who}",
        f"buffed panel={panel}{who}",
    )


def asked(worker, line):
    (said,) = says(worker.say(line))
    return said


def test_one_stands_where_one_worked_last_and_each_for_himself():
    worker = coating("laying panel=roof by=Ada", "laying panel=left_front_door by=Ben")
    assert stands_at(worker.it) == "left_front_door"
    assert stands_at(worker.it, "Ada") == "roof"
    worker.do("undo")
    assert stands_at(worker.it) == "roof"


def test_what_is_unwiped_is_told_from_where_one_stands():
    worker = coating(*coated("left_front_door"), *coated("right_front_door"))
    seams = asked(worker, "ask_unwiped").seams
    assert set(seams) == {seam.id for seam in unwiped_seams(worker.it)}
    first = [seam for seam in seams if "right" in seam]
    assert seams[: len(first)] == tuple(first), "the side one stands at comes first"
    own = asked(worker, "ask_unwiped panel=left_front_door").seams
    assert own and all("left_front_door" in seam for seam in own)
    worker.do("all_round panel=left_front_door")
    assert asked(worker, "ask_unwiped panel=left_front_door").seams == ()


def test_what_is_bare_is_told_in_the_same_order():
    worker = coating(
        "laying panel=right_front_door", "covered panel=right_front_door", "wait 200",
        "levelled panel=right_front_door",
    )  # fmt: skip
    seams = asked(worker, "ask_bare").seams
    walked = in_walking_order(worker.it, bare_seams(worker.it))
    assert seams == tuple(seam.id for seam in walked) and len(seams) > 2


def test_a_body_that_is_not_drawn_keeps_its_own_order():
    worker = coating(*coated("left_front_door"))
    bare = replace(
        worker.it.body, panels=tuple(replace(p, plan_m=None) for p in worker.it.body.panels)
    )
    job = replace(worker.it, body=bare)
    assert in_walking_order(job, unwiped_seams(job)) == unwiped_seams(job)


def test_all_round_except_one_leaves_that_one_bare():
    worker = coating("laying panel=left_front_door", "covered panel=left_front_door")
    outcome = worker.say("all_round panel=left_front_door neighbour=left_sill")
    assert known_as(LappedAllReply, says(outcome)[0]).neighbour == "left_sill"
    assert [seam.id for seam in bare_seams(worker.it)] == ["left_front_door+left_sill"]
    assert worker.topic("all_round panel=left_front_door neighbour=boot_lid") == "no_seam"


def test_the_job_is_not_closed_over_unwiped_seams_without_a_word():
    worker = coating(*coated("left_front_door"))
    unwiped = tuple(seam.id for seam in unwiped_seams(worker.it))
    question = one_said(worker.say("close_job"), CloseOpenQuestion)
    assert question.topic == "close_open" and question.unwiped == unwiped
    outcome = worker.say("yes")
    (closed,) = [event for event in outcome.events if isinstance(event, JobClosed)]
    assert closed.unwiped == unwiped and len(unwiped) > 2


def test_a_panel_that_is_buffed_and_not_wiped_past_its_seams_is_told_so():
    worker = coating(*coated("left_front_door")[:-1])
    said = says(worker.say("buffed panel=left_front_door"))
    assert [say.topic for say in said] == ["buffed", "unwiped"]
    unwiped = known_as(UnwipedReply, said[1])
    assert unwiped.panel == "left_front_door" and unwiped.seams
    other = coating(
        *coated("left_front_door")[:-2], "levelled panel=left_front_door all_round=true"
    )
    assert [s.topic for s in says(other.say("buffed panel=left_front_door"))] == ["buffed"]
