"""Any story, left and right exchanged, has the same answers, left and right exchanged.

And whatever the order of acts: what is bare or unwiped is told, and no older clock is hidden.
"""

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from bayhelper.decide.job import seams
from bayhelper.terms.saying import Saying
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker, best_utc, fields_of

PANELS = ("roof", "bonnet", "left_front_door", "right_front_door", "left_front_wing", "left_sill")
ACTS = (
    "laying panel={}", "covered panel={}", "covered panel={} all_round=true",
    "all_round panel={}", "levelled panel={}", "levelled panel={} all_round=true",
    "buffed panel={}", "insist", "no", "undo", "trial panel={} result=wet",
    "trial panel={} result=clean", "ask_remaining", "ask_remaining panel={}", "ask_bare",
    "ask_bare panel={}", "ask_unwiped", "ask_unwiped panel={}", "ask_elapsed panel={}",
    "ask_all_off", "ask_open", "close_job", "wait 45", "wait 200", "touched panel={}",
    "prepped panel={}", "checked panel={}", "defect panel={} kind=high_spot place=left_edge",
)  # fmt: skip
LINES = st.lists(
    st.builds(lambda act, panel: act.format(panel), st.sampled_from(ACTS), st.sampled_from(PANELS)),
    max_size=25,
)
OTHER = {"left": "right", "right": "left"}


def mirrored(text):
    swapped = re.sub("left|right", lambda found: OTHER[found[0]], text)
    return "+".join(sorted(swapped.split("+"))) if "+" in swapped else swapped


def flipped(value):
    if isinstance(value, str):
        return mirrored(value)
    return tuple(map(flipped, value)) if isinstance(value, tuple) else value


MANY = ("seams", "bare", "unwiped", "neighbours", "parts")
"""Told in an order that may be as good the other way round."""


def alike(topic, params):
    """As a thing to compare."""
    told = {name: value for name, value in params.items() if name not in MANY}
    lists = {name: sorted(params[name]) for name in MANY if name in params}
    return topic, sorted(told.items()), sorted(lists.items())


EVERY = sorted({*PANELS, *map(mirrored, PANELS)})


def worker_of(panels):
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, *(f"prepped panel={panel}" for panel in panels))
    return worker


def told(worker, line):
    if line.startswith("wait"):
        worker.do(line)
        return []
    return [effect for effect in worker.say(line).effects if isinstance(effect, Saying)]


@settings(deadline=None, max_examples=100)
@given(LINES)
def test_the_mirror_of_a_story_has_the_mirror_of_its_answers(lines):
    one, other = worker_of(EVERY), worker_of(map(mirrored, EVERY))
    for line in lines:
        here, there = told(one, line), told(other, mirrored(line))
        assert [alike(s.topic, {k: flipped(v) for k, v in fields_of(s).items()}) for s in here] == [
            alike(s.topic, fields_of(s)) for s in there
        ], line
        if one.it.closed_at_utc:
            return


@settings(deadline=None, max_examples=100)
@given(LINES)
def test_whatever_was_done_nothing_bare_unwiped_or_older_is_hidden(lines):
    worker = worker_of(EVERY)
    for line in lines:
        told(worker, line)
        if worker.it.closed_at_utc:
            return
    bare, unwiped = seams.bare_seams(worker.it), seams.unwiped_seams(worker.it)
    told(worker, "no")
    for command, found in (("ask_bare", bare), ("ask_unwiped", unwiped)):
        (said,) = told(worker, command)
        assert sorted(said.seams) == sorted(seam.id for seam in found)
    opened = worker.it.open_parts()
    if opened:
        (said,) = told(worker, "ask_remaining")
        soonest = min(best_utc(part) for part in opened)
        assert said.best_in_s == (soonest - worker.now_utc).total_seconds()
    (question,) = told(worker, "close_job")
    left = bare or unwiped or opened
    assert question.topic == ("close_open" if left else "close_sure")
