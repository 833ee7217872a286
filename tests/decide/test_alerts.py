"""Alerts: grouping, repeating, silencing, and catching up late."""

from __future__ import annotations

from itertools import pairwise

import pytest

from bayhelper.decide.due.alerts import sounding, take_up, tick
from bayhelper.decide.due.deadlines import KINDS, ROWS
from bayhelper.decide.due.kind import PATIENCE
from bayhelper.decide.outcome import Outcome
from bayhelper.terms.effects import Tone
from bayhelper.terms.events import AlertRaised
from bayhelper.terms.saying import DueAlert, Urgency
from tests.decide.bench import TO_CORRECTION, Bench, alerts_said, at

DOOR, OTHER = "left_quarter", "right_quarter"


def raised_as(bench: Bench, alert: str) -> list[AlertRaised]:
    return [f for f in bench.facts() if isinstance(f, AlertRaised) and f.alert == alert]


def test_a_trial_is_a_soft_tone_and_no_words():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    assert bench.tick(180) == (Tone("soft"),)
    assert bench.raised() == [("trial_ready", DOOR, 180)]


def test_what_is_due_is_one_sentence_with_its_urgency():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.tick(200)
    (say,) = bench.tick(360)
    assert isinstance(say, DueAlert)
    assert (say.topic, say.urgency, say.manner) == ("wipe_now", Urgency.DUE, "alert")
    assert tuple(one.subject for one in say.called) == (DOOR,)
    assert tuple(one.due_in_s for one in say.called) == (0.0,)


def test_closing_tells_the_time_that_is_left():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(419)
    (say,) = bench.tick(420)
    assert isinstance(say, DueAlert)
    assert say.topic == "closing"
    assert tuple(one.left_s for one in say.called) == (60.0,)


def test_an_alert_repeats_faster_until_the_act_is_done():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(700)
    instants = [instant for _, _, instant in bench.raised("overdue")]
    waits = [later - sooner for sooner, later in pairwise(instants)]
    assert waits == sorted(waits, reverse=True)
    assert waits[0] > waits[-1]
    bench.say("levelled", 701, panel=DOOR)
    known = len(bench.raised())
    bench.run(1100)
    assert len(bench.raised()) == known


def test_repeats_are_numbered():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(800)
    repeats = [f.repeat for f in raised_as(bench, "overdue")]
    assert repeats == list(range(len(repeats)))


def test_two_panels_due_within_twenty_seconds_are_one_sentence():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.coat(OTHER, 15, 75)
    bench.run(359)
    (say,) = alerts_said(bench.tick(360))
    assert tuple(one.subject for one in say.called) == (DOOR, OTHER)
    assert tuple(one.due_in_s for one in say.called) == (0.0, 15.0)
    bench.run(380)
    assert [row for row in bench.raised("wipe_now") if row[2] <= 380] == [
        ("wipe_now", DOOR, 360),
        ("wipe_now", OTHER, 360),
    ]


def test_panels_further_apart_are_two_sentences():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.coat(OTHER, 21, 81)
    bench.run(390)
    firsts = {
        fact.subject: fact.at_utc
        for fact in bench.facts()
        if isinstance(fact, AlertRaised) and fact.alert == "wipe_now" and fact.repeat == 0
    }
    assert firsts == {DOOR: at(360), OTHER: at(381)}


def test_the_most_urgent_comes_first():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.coat(OTHER, 70, 130)
    bench.run(419)
    (say,) = alerts_said(bench.tick(420))
    assert say.topic == "closing"
    assert tuple(one.alert for one in say.called) == ("closing", "wipe_now")
    assert tuple(one.subject for one in say.called) == (DOOR, OTHER)
    assert say.urgency == Urgency.URGENT


def test_an_answer_silences_what_is_due_but_not_what_closes():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(360)
    bench.say("answered", 365)
    bench.run(419)
    assert bench.raised("wipe_now") == [("wipe_now", DOOR, 360)]
    bench.run(480)
    assert bench.raised("closing")[0] == ("closing", DOOR, 420)
    assert bench.raised("overdue") == [("overdue", DOOR, 480)]


def test_closing_and_overdue_speak_again_after_every_answer():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(480)
    for at_s in (485, 600, 700):
        bench.say("answered", at_s)
        known = len(bench.raised("overdue"))
        bench.run(at_s + 90)
        assert len(bench.raised("overdue")) > known


def test_an_answer_gives_the_longest_wait():
    at_stake = {"closing", "overdue", "dwell_over"}
    for kind in (kind for kind in ROWS if kind.waits_s):
        wait_s = kind.wait_s(5, answered=True)
        assert wait_s == (kind.waits_s[0] if kind.name in at_stake else None)


def test_hush_silences_one_urgency_only():
    bench = Bench("one_step", TO_CORRECTION)
    bench.say("start_panel", 0, panel="roof")
    bench.say("section_done", 100)
    bench.say("hush", 105)
    bench.run(2000)
    assert bench.raised("pad_due") == [("pad_due", "pad", 100)]
    bench.say("section_done", 2000)
    assert bench.raised("pad_due")[1:] == [("pad_due", "pad", 2000)]


def test_more_time_makes_it_a_new_alert():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(480)
    bench.say("more_time", 482, panel=DOOR, minutes=2.0)
    bench.run(600)
    firsts = [f for f in raised_as(bench, "overdue") if not f.repeat]
    assert len(firsts) == 2
    assert (firsts[1].due_at_utc - firsts[0].due_at_utc).total_seconds() == 120


def test_undo_brings_an_alert_back_at_once():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(485)
    bench.say("levelled", 490, panel=DOOR)
    bench.run(599)
    known = bench.raised("overdue")
    bench.say("undo", 600)
    assert bench.raised("overdue") == [*known, ("overdue", DOOR, 600)]
    assert alerts_said(tuple(e for at_s, e in bench.effects if at_s == 600))


def test_catching_up_records_everything_and_speaks_once_of_the_newest():
    steady, late = Bench(), Bench()
    for bench in (steady, late):
        bench.coat(DOOR, 0, 60)
    steady.run(840)
    late.restart()
    (say,) = late.tick(840)
    assert late.facts() == steady.facts()
    assert isinstance(say, DueAlert)
    assert say.topic == "overdue"
    assert tuple(one.alert for one in say.called) == ("overdue",)
    assert tuple(one.due_in_s for one in say.called) == (-360.0,)


@pytest.mark.parametrize("away_s", [1, 5, 601])
def test_a_restart_speaks_at_once_of_what_is_overdue_even_if_it_was_said_before(away_s):
    bench, steady = Bench(), Bench()
    for each in (bench, steady):
        each.coat(DOOR, 0, 60)
        each.run(481)
        each.say("answered", 482)
    bench.restart()
    outcome = take_up(bench.it, at(482 + away_s))
    (say,) = outcome.effects
    assert isinstance(say, DueAlert)
    assert say.topic == "overdue"
    assert tuple(one.due_in_s for one in say.called) == (-2.0 - away_s,)
    assert outcome.events == tick(steady.it, at(482 + away_s)).events


def test_a_restart_does_not_repeat_what_was_answered_or_speaks_once():
    bench = buffed_in_turn(DOOR)
    bench.run(950)
    assert take_up(bench.it, at(951)).effects
    bench.say("answered", 955)
    assert take_up(bench.it, at(960)) == Outcome()
    bench = Bench("one_step", TO_CORRECTION)
    bench.say("section_done", 100, panel="roof")
    assert bench.raised("pad_due")
    assert take_up(bench.it, at(101)) == Outcome()


def test_a_note_is_disturbed_by_a_tone_only_until_a_panel_closes():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.say("take_note", 300)
    assert bench.it.dictating
    assert bench.tick(360) == (Tone("due"),)
    bench.tick(391)
    bench.tick(412)
    (say,) = bench.tick(420)
    assert isinstance(say, DueAlert)
    assert say.topic == "closing"


def test_pausing_the_job_does_not_stop_a_panel():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.say("pause_job", 100)
    bench.say("yes", 101)
    bench.run(480)
    assert ("overdue", DOOR, 480) in bench.raised()


def test_wiping_is_not_called_again_once_the_panel_is_closing():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.run(1000)
    assert max(row[2] for row in bench.raised("wipe_now")) < 420
    assert max(row[2] for row in bench.raised("closing")) < 480


def buffed_in_turn(*panels: str, every_s: float = 400) -> Bench:
    bench = Bench()
    for number, panel in enumerate(panels):
        start_s = number * every_s
        bench.coat(panel, start_s, start_s + 60)
        bench.say("levelled", start_s + 300, panel=panel)
        bench.say("buffed", start_s + 350, panel=panel)
    return bench


def test_looking_again_is_reminded_of_once_and_once_more():
    """Not at a shortening interval: that is for what is due, closing or overdue."""
    bench = buffed_in_turn(DOOR)
    bench.run(20_000)
    assert bench.raised("look_again") == [("look_again", DOOR, 950), ("look_again", DOOR, 1850)]


def test_looking_again_is_not_repeated_after_an_answer_or_the_look():
    for word in ("answered", "hush", "checked"):
        bench = buffed_in_turn(DOOR)
        bench.run(950)
        bench.say(word, 960, **({"panel": DOOR} if word == "checked" else {}))
        bench.run(20_000)
        assert len(bench.raised("look_again")) == 1


def test_a_panel_under_reminder_still_becomes_overdue():
    bench = buffed_in_turn(DOOR)
    bench.coat(OTHER, 900, 960)
    bench.run(1400)
    assert [row[2] for row in bench.raised("overdue", OTHER)][:2] == [1380]


def test_the_repeat_of_one_comes_with_the_first_of_another():
    """A car of panels, one after the other: no panel is named more than twice."""
    panels = (DOOR, OTHER, "left_rear_door", "right_rear_door", "left_front_wing", "boot_lid")
    bench = buffed_in_turn(*panels)
    bench.run(20_000)
    raised = bench.raised("look_again")
    assert {panel: [p for _, p, _ in raised].count(panel) for panel in panels} == dict.fromkeys(
        panels, 2
    )
    assert len({instant for _, _, instant in raised}) <= len(panels) + 1


def test_a_reminder_that_nobody_heard_yet_is_named_before_a_repeat():
    bench = buffed_in_turn(DOOR, OTHER)
    bench.run(1349)
    (said,) = alerts_said(bench.tick(1350))
    assert said.topic == "look_again"
    assert tuple(one.subject for one in said.called) == (OTHER, DOOR)


def test_only_what_is_due_or_urgent_repeats_at_a_shortening_interval():
    assert all(kind.urgency > Urgency.SOFT for kind in ROWS if kind.waits_s)
    soft = {kind.name for kind in ROWS if kind.urgency == Urgency.SOFT}
    once_more = {kind.name for kind in ROWS if kind.once_more_s}
    assert once_more <= soft | {"recoat_missed"}, "nothing is left to be saved there"
    for alert in soft:
        assert KINDS[alert].wait_s(1) is None
        assert KINDS[alert].wait_s(0, answered=True) is None


def test_what_sounds_is_what_was_raised_and_not_answered():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    assert sounding(bench.it) == ()
    bench.run(481)
    assert [d.key for d in sounding(bench.it)] == [f"overdue:{DOOR}"]
    bench.say("answered", 482)
    assert sounding(bench.it) == ()


def test_a_night_alone_does_not_fill_the_record():
    bench = Bench()
    bench.coat(DOOR, 0, 60)
    bench.tick(12 * 3600)
    assert len(bench.raised()) < PATIENCE + 200
    assert bench.raised("overdue")[-1][2] > 11.9 * 3600


def test_waits_shorten():
    for waits in (kind.waits_s for kind in ROWS if kind.waits_s):
        assert list(waits) == sorted(waits, reverse=True)
        assert len(waits) > 1
