"""The look-ahead against every order there is."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayhelper.reckon.lookahead import MOST_TASKS, STEP_S, Laying, Task, schedule, start_in_s
from bayhelper.terms.errors import ReckonError
from benchmarks.lookahead import every_order as fits


@st.composite
def cases(draw, most=5):
    people = draw(st.integers(1, 2))
    tasks = []
    for number in range(draw(st.integers(0, most if people == 1 else most - 1))):
        opens_s = draw(st.integers(-60, 300))
        takes_s = tuple(float(draw(st.integers(20, 120))) for _ in range(people))
        closes_s = opens_s + draw(st.integers(0, 240))
        who = draw(st.sampled_from([None, *range(people)]))
        side = draw(st.sampled_from(["left", "right", ""]))
        tasks.append(Task(f"p{number}", float(opens_s), float(closes_s), takes_s, who, side))
    free_s = tuple(float(draw(st.integers(0, 120))) for _ in range(people))
    return tasks, free_s, float(draw(st.sampled_from([0, 5, 40])))


@settings(deadline=None, max_examples=1500)
@given(cases())
def test_it_finds_an_order_exactly_when_there_is_one(case):
    tasks, free_s, across_s = case
    found = schedule(tasks, free_s, across_s)
    assert (found is not None) == fits(tasks, free_s, across_s)
    if found is None:
        return
    assert sorted(slot.task.name for slot in found) == sorted(task.name for task in tasks)
    free, sides = list(free_s), [""] * len(free_s)
    for slot in found:
        task, side = slot.task, sides[slot.who]
        walks_s = across_s if side and task.side and side != task.side else 0.0
        assert max(free[slot.who] + walks_s, task.opens_s) <= slot.start_s <= task.closes_s
        assert task.who in (None, slot.who)
        free[slot.who], sides[slot.who] = slot.start_s + task.takes_s[slot.who], task.side


@settings(deadline=None, max_examples=400)
@given(cases(most=3), st.data())
def test_the_soonest_start_is_the_first_step_at_which_everything_fits(case, data):
    tasks, free_s, across_s = case
    people = len(free_s)
    laying = Laying(
        name="new",
        who=data.draw(st.integers(0, people - 1)),
        lays_s=float(data.draw(st.integers(30, 180))),
        opens_after_s=float(data.draw(st.integers(30, 200))),
        closes_after_s=float(data.draw(st.integers(200, 500))),
        takes_s=tuple(float(data.draw(st.integers(20, 120))) for _ in range(people)),
        side=data.draw(st.sampled_from(["left", "right", ""])),
    )
    found = start_in_s(laying, tasks, free_s, across_s)
    steps = [step * STEP_S for step in range(80)]
    right = next(
        (
            at_s
            for at_s in steps
            if at_s >= free_s[laying.who] and fits([*tasks, *laying.tasks(at_s)], free_s, across_s)
        ),
        None,
    )
    assert found == (right if fits(tasks, free_s, across_s) else None)


def test_what_comes_due_first_is_not_always_wiped_first():
    """Sorted by deadline, one person would wait for the first and be late for the second."""
    slow = Task("roof", 100.0, 130.0, (60.0,))
    early = Task("wing", 0.0, 140.0, (60.0,))
    found = schedule([slow, early], (0.0,))
    assert found is not None
    assert [slot.task.name for slot in found] == ["wing", "roof"]


def test_two_panels_due_at_once_need_two_people():
    left = Task("left door", 100.0, 150.0, (60.0, 60.0))
    right = Task("right door", 100.0, 150.0, (60.0, 60.0))
    assert schedule([left, right], (0.0, 0.0)) is not None
    alone = [Task(t.name, t.opens_s, t.closes_s, (60.0,)) for t in (left, right)]
    assert schedule(alone, (0.0,)) is None


def test_one_person_is_not_wanted_on_both_sides_at_once():
    left = Task("left door", 0.0, 20.0, (40.0,), side="left")
    for side, fit in (("left", True), ("", True), ("right", False)):
        other = Task("other", 30.0, 45.0, (40.0,), side=side)
        assert (schedule([left, other], (0.0,), 10.0) is not None) == fit
        assert schedule([left, other], (0.0,)) is not None


@pytest.mark.parametrize(
    ("tasks", "free_s", "match"),
    [
        ([], (), "at least one person"),
        ([Task("roof", 0, 9, (1.0,))], (0.0, 0.0), "times for 1 people"),
        ([Task("roof", 0, 9, (1.0,))] * (MOST_TASKS + 1), (0.0,), f"at most {MOST_TASKS}"),
    ],
)
def test_what_cannot_be_reckoned_is_told(tasks, free_s, match):
    with pytest.raises(ReckonError, match=match):
        schedule(tasks, free_s)
