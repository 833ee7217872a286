"""What is raised depends on the job and its deadlines only: not on ticks, not on restarts."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from bayhelper.decide.due.alerts import next_due_utc
from tests.decide.bench import START_UTC, Bench

PANELS = ("roof", "bonnet", "left_front_door", "right_front_door")
ACTS = st.one_of(
    st.tuples(st.just("coat"), st.sampled_from(PANELS).map(lambda panel: {"panel": panel})),
    st.tuples(
        st.sampled_from(
            ("prepped", "laying", "covered", "levelled", "buffed", "checked", "all_round")
        ),
        st.sampled_from(PANELS).map(lambda panel: {"panel": panel}),
    ),
    st.tuples(
        st.just("covered"),
        st.sampled_from(PANELS).map(lambda panel: {"panel": panel, "all_round": True}),
    ),
    st.tuples(
        st.just("laying"),
        st.sampled_from([{"panel": "bonnet", "half": h} for h in ("left", "right")]),
    ),
    st.tuples(
        st.just("trial"),
        st.tuples(st.sampled_from(PANELS), st.sampled_from(("wet", "clean", "grabbing"))).map(
            lambda pair: {"panel": pair[0], "result": pair[1]}
        ),
    ),
    st.tuples(
        st.just("more_time"),
        st.sampled_from(PANELS).map(lambda panel: {"panel": panel, "minutes": 1.0}),
    ),
    st.tuples(st.just("start_dwell"), st.just({"agent": "iron_remover"})),
    st.tuples(
        st.sampled_from(("answered", "hush", "undo", "insist", "yes", "end_dwell")),
        st.just({}),
    ),
)
STORY = st.lists(st.tuples(st.integers(1, 400), ACTS), min_size=3, max_size=14)


def _play(story, marks, restarts=frozenset()):
    """The story's facts when the bay ticks at these marks too, and restarts at some of them."""
    bench = Bench()
    bench.coat("left_quarter", 0, 60)
    now_s = 60
    for gap_s, (name, slots) in story:
        then_s = now_s + gap_s
        for mark in (m for m in marks if now_s < m < then_s):
            bench.tick(mark)
            if mark in restarts:
                bench.restart()
        now_s = then_s
        if name == "coat":
            bench.coat(slots["panel"], now_s, now_s)
        else:
            bench.say(name, now_s, **slots)
    for mark in (m for m in marks if now_s < m < now_s + 600):
        bench.tick(mark)
        if mark in restarts:
            bench.restart()
    bench.tick(now_s + 600)
    return bench.facts()


@settings(max_examples=15, deadline=None)
@given(story=STORY)
def test_one_second_steps_raise_what_one_jump_raises(story):
    end_s = 700 + sum(gap for gap, _ in story)
    assert _play(story, range(end_s)) == _play(story, ())


@settings(max_examples=30, deadline=None)
@given(
    story=STORY,
    marks=st.sets(st.integers(61, 6000), max_size=60),
    restarts=st.sets(st.integers(0, 59), max_size=8),
)
def test_restarts_and_odd_steps_change_nothing(story, marks, restarts):
    ordered = sorted(marks)
    again = frozenset(ordered[i] for i in restarts if i < len(ordered))
    assert _play(story, ordered, again) == _play(story, ())


def test_a_restart_between_any_two_decisions_changes_nothing():
    def story(restart_at: int | None):
        bench = Bench("correction_coat")
        acts: list[tuple[str, float, dict[str, str | bool]]] = [
            ("prepped", 10, {"panel": "roof"}),
            ("laying", 20, {"panel": "roof"}),
            ("prepped", 150, {"panel": "bonnet"}),
            ("covered", 180, {"panel": "roof", "all_round": True}),
            ("laying", 200, {"panel": "bonnet"}),
            ("covered", 320, {"panel": "bonnet"}),
            ("answered", 700, {}),
            ("levelled", 760, {"panel": "roof"}),
            ("buffed", 800, {"panel": "roof"}),
            ("levelled", 900, {"panel": "bonnet"}),
            ("undo", 960, {}),
        ]
        for name, at_s, slots in acts:
            bench.say(name, at_s, **slots)
            if restart_at is not None and bench.it.number >= restart_at:
                bench.restart()
        bench.run(5000)
        return bench

    whole = story(None)
    assert len(whole.raised()) > 50
    for number in range(1, 40, 2):
        assert story(number).facts() == whole.facts()


def test_the_bay_never_waits_for_what_it_has_done():
    bench = Bench()
    bench.coat("roof", 0, 100)
    for _ in range(40):
        before = len(bench.facts())
        due_utc = next_due_utc(bench.it)
        assert due_utc is not None
        bench.tick((due_utc - START_UTC).total_seconds())
        assert len(bench.facts()) > before


def test_what_a_command_made_due_keeps_its_instant_when_the_process_dies_upon_it():
    steady, killed = Bench(), Bench()
    for bench in (steady, killed):
        bench.coat("roof", 0, 60)
        bench.run(500)
        bench.say("levelled", 500, panel="roof")
    steady.say("undo", 600)
    killed.say_and_die("undo", 600)
    killed.repaired(630)
    for bench in (steady, killed):
        bench.tick(700)
    assert killed.facts() == steady.facts()
    assert ("overdue", "roof", 600) in killed.raised()
