"""When things fall due. The figures are the sheets' own; the instants are counted by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from bayhelper.decide.due.alerts import next_due_utc
from bayhelper.decide.due.deadlines import KINDS, ROWS, deadlines
from bayhelper.decide.job import clocks
from bayhelper.decide.job.state import Coat
from bayhelper.terms.events import AlertRaised, PrepWentStale, StageStarted
from bayhelper.terms.saying import Saying, Urgency
from tests.decide.bench import SALOON, START_UTC, TO_CORRECTION, Bench, at


def due(bench: Bench) -> dict[str, float]:
    return {d.key: (d.due_at_utc - START_UTC).total_seconds() for d in deadlines(bench.it)}


def test_a_nominal_five_minutes_is_tried_after_two_and_wiped_at_five():
    """Two of five minutes for a first trial: common practice, no source."""
    bench = Bench()
    bench.coat("left_quarter", 100, 160)
    assert due(bench)["trial_ready:left_quarter"] == 160 + 120
    assert due(bench)["wipe_now:left_quarter"] == 160 + 300


def test_latest_counts_from_the_first_stroke_and_earliest_from_the_last():
    """The first strokes of a panel are that much older than its last (a fact of the trade)."""
    quick, slow = Bench(), Bench()
    quick.coat("left_quarter", 100, 110)
    slow.coat("left_quarter", 100, 190)
    assert due(quick)["overdue:left_quarter"] == due(slow)["overdue:left_quarter"] == 580
    assert due(slow)["wipe_now:left_quarter"] > due(quick)["wipe_now:left_quarter"]


def test_a_long_lay_down_is_wiped_before_it_closes_and_never_before_the_earliest():
    bench = Bench()
    bench.coat("roof", 100, 100 + 200)
    times = due(bench)
    assert times["closing:roof"] == 580 - 60
    assert times["wipe_now:roof"] == 580 - 60 - 30
    bench = Bench()
    bench.coat("roof", 100, 100 + 290)
    assert due(bench)["wipe_now:roof"] == 390 + 180


def test_without_covered_the_usual_lay_down_time_stands_for_it():
    bench = Bench()
    bench.say("prepped", 0, panel="left_quarter")
    bench.say("laying", 100, panel="left_quarter")
    area_m2 = next(p.area_m2 for p in SALOON.panels if p.id == "left_quarter")
    assert due(bench)["wipe_now:left_quarter"] == pytest.approx(100 + 90 * area_m2 + 300)
    assert due(bench)["overdue:left_quarter"] == 100 + 480


def test_halves_have_clocks_of_their_own():
    bench = Bench()
    bench.say("prepped", 0, panel="bonnet")
    bench.say("laying", 100, panel="bonnet", half="left")
    bench.say("covered", 160, panel="bonnet", half="left", all_round=True)
    bench.say("laying", 170, panel="bonnet", half="right")
    assert due(bench)["overdue:bonnet/left"] == 580
    assert due(bench)["overdue:bonnet/right"] == 650
    assert "overdue:bonnet" not in due(bench)


def test_more_time_moves_best_and_latest():
    bench = Bench()
    bench.coat("left_quarter", 100, 160)
    before = due(bench)
    bench.say("more_time", 200, panel="left_quarter", minutes=2.0)
    after = due(bench)
    for alert in ("wipe_now", "closing", "overdue"):
        key = f"{alert}:left_quarter"
        assert after[key] == before[key] + 120


def test_a_wet_trial_is_tried_again_a_minute_later():
    """Wet or dragging: wait one more minute of a nominal five (common practice, no source)."""
    bench = Bench()
    bench.coat("left_quarter", 100, 160)
    bench.say("trial", 285, panel="left_quarter", result="wet")
    assert due(bench)["trial_ready:left_quarter"] == 285 + 60
    bench.say("trial", 350, panel="left_quarter", result="clean")
    assert "trial_ready:left_quarter" not in due(bench)


DOOR = "left_quarter"


def test_a_grabbing_trial_makes_it_closing_at_once():
    bench = Bench()
    bench.coat(DOOR, 100, 160)
    bench.say("trial", 300, panel=DOOR, result="grabbing")
    times = due(bench)
    assert times[f"closing:{DOOR}"] == 300
    assert times[f"overdue:{DOOR}"] == 330
    assert f"wipe_now:{DOOR}" not in times
    bench.say("more_time", 310, panel=DOOR, minutes=1.0)
    assert due(bench)[f"overdue:{DOOR}"] == 640


def test_grabbing_counts_although_the_panel_had_been_given_more_time():
    bench = Bench()
    bench.coat(DOOR, 100, 160)
    bench.say("more_time", 200, panel=DOOR, minutes=2.0)
    bench.say("trial", 300, panel=DOOR, result="grabbing")
    assert due(bench)[f"closing:{DOOR}"] == 300


def test_a_clean_trial_calls_for_wiping_now():
    """Once a trial wipe levels cleanly, that is the time (common practice, no source).

    Even before the sheet's earliest figure, which is 180 s after covered: the panel knows better.
    """
    bench = Bench()
    bench.coat(DOOR, 100, 160)
    before = due(bench)
    bench.say("trial", 290, panel=DOOR, result="clean")
    assert due(bench) == {
        f"wipe_now:{DOOR}": 290,
        f"closing:{DOOR}": before[f"closing:{DOOR}"],
        f"overdue:{DOOR}": before[f"overdue:{DOOR}"],
    }
    assert bench.raised("wipe_now") == [("wipe_now", DOOR, 290)]
    bench.run(320)
    assert bench.raised("wipe_now")[1:] == [("wipe_now", DOOR, 320)]


def test_a_clean_trial_after_the_nominal_time_moves_nothing():
    bench = Bench()
    bench.coat(DOOR, 100, 160)
    bench.run(465)
    bench.say("trial", 466, panel=DOOR, result="clean")
    assert due(bench)[f"wipe_now:{DOOR}"] == 460
    assert bench.raised("wipe_now") == [("wipe_now", DOOR, 460)]


def test_a_wet_spot_after_a_clean_one_waits_again():
    bench = Bench()
    bench.coat(DOOR, 100, 160)
    bench.say("trial", 290, panel=DOOR, result="clean")
    bench.say("trial", 300, panel=DOOR, result="wet")
    assert due(bench)[f"wipe_now:{DOOR}"] == 460


@pytest.mark.parametrize("result", ["clean", "grabbing"])
def test_a_trial_that_calls_is_said_once_with_its_tone_and_can_be_taken_back(result):
    bench = Bench()
    bench.coat(DOOR, 100, 160)
    before = due(bench)
    bench.run(300)
    known = len(bench.effects)
    bench.say("trial", 300, panel=DOOR, result=result)
    (said,) = [effect for _, effect in bench.effects[known:]]
    wanted = Urgency.DUE if result == "clean" else Urgency.URGENT
    assert isinstance(said, Saying)
    assert (said.topic, said.urgency) == (f"trial_{result}", wanted)
    bench.say("undo", 305)
    assert due(bench) == before
    bench.run(460)
    assert bench.raised("wipe_now")[-1] == ("wipe_now", DOOR, 460)
    assert ("closing", DOOR, 520) not in bench.raised()


def test_each_half_is_tried_for_itself():
    bench = Bench()
    bench.say("prepped", 0, panel="bonnet")
    for half in ("left", "right"):
        bench.say("covered", 160, panel="bonnet", half=half, all_round=True)
    bench.say("trial", 300, panel="bonnet", half="left", result="clean")
    assert due(bench)["wipe_now:bonnet/left"] == 300
    assert due(bench)["wipe_now:bonnet/right"] > 360


def test_a_levelled_panel_has_no_setting_clock():
    bench = Bench()
    bench.coat("left_quarter", 100, 160)
    bench.say("levelled", 400, panel="left_quarter")
    assert not [d for d in deadlines(bench.it) if d.subject == "left_quarter"]


def test_look_again_follows_buffing_until_it_was_looked_over():
    bench = Bench()
    bench.coat("roof", 0, 100)
    bench.say("levelled", 300, panel="roof")
    bench.say("buffed", 350, panel="roof")
    assert due(bench) == {"look_again:roof": 350 + 600}
    bench.say("checked", 1000, panel="roof")
    assert due(bench) == {}


def test_layers_to_come_have_a_shortest_and_a_longest_time():
    bench = Bench("correction_coat")
    bench.coat("roof", 0, 100)
    bench.say("levelled", 300, panel="roof")
    bench.say("buffed", 350, panel="roof")
    times = due(bench)
    assert times["recoat_open:roof"] == 350 + 3600
    assert times["recoat_missed:roof"] == 350 + 14400
    assert times["recoat_open:roof"] < times["recoat_closing:roof"] < times["recoat_missed:roof"]
    bench.say("checked", 1000, panel="roof")
    bench.say("start_layer", 4000, layer=2)
    bench.say("laying", 4010, panel="roof")
    assert not [key for key in due(bench) if key.startswith("recoat")]


def test_one_layer_is_never_coated_again():
    bench = Bench("coat_only")
    bench.coat("roof", 0, 100)
    bench.say("levelled", 300, panel="roof")
    bench.say("buffed", 350, panel="roof")
    assert not [key for key in due(bench) if key.startswith("recoat")]


def test_removers_are_rinsed_in_time():
    bench = Bench(stages=("wash", "decontamination"))
    bench.say("start_dwell", 100, agent="iron_remover")
    assert due(bench) == {"dwell_due:iron_remover": 280, "dwell_over:iron_remover": 400}
    bench.say("end_dwell", 200)
    assert due(bench) == {}


def test_the_pad_is_due_at_the_section_and_until_it_is_clean():
    """A pad is cleaned between sections: common practice, no source."""
    bench = Bench("one_step", TO_CORRECTION)
    bench.say("start_panel", 0, panel="roof")
    bench.say("polish_on", 5)
    bench.say("section_done", 300)
    assert due(bench) == {"pad_due:pad": 300}
    assert bench.raised("pad_due") == [("pad_due", "pad", 300)]
    bench.say("pad_cleaned", 330)
    assert due(bench) == {}


def test_residue_is_remembered_for_an_hour_and_a_half():
    bench = Bench("one_step", TO_CORRECTION)
    bench.say("residue_left", 100, panel="roof")
    assert due(bench) == {"residue_due:roof": 100 + 5400}
    bench.say("residue_wiped", 200, panel="roof")
    assert due(bench) == {}


def test_a_panel_wipe_goes_stale_and_says_so_once():
    bench = Bench()
    bench.say("prepped", 100, panel="roof")
    assert next_due_utc(bench.it) == at(3700)
    bench.tick(20_000)
    assert bench.it.part("roof").state == "stale"
    stale, alert = bench.facts()
    assert isinstance(stale, PrepWentStale)
    assert stale.at_utc == at(3700)
    assert isinstance(alert, AlertRaised)
    assert (alert.alert, alert.subject) == ("prep_stale", "roof")
    assert next_due_utc(bench.it) is None


def test_a_half_goes_stale_beside_one_that_is_laid():
    bench = Bench()
    bench.say("prepped", 0, panel="bonnet")
    bench.say("laying", 3500, panel="bonnet", half="left")
    bench.tick(3700)
    states = {part.half: part.state for part in bench.it.parts_of("bonnet")}
    assert states == {"left": "laying", "right": "stale"}


def test_undoing_a_panel_wipe_that_went_stale_is_no_fault():
    bench = Bench()
    bench.say("prepped", 0, panel="roof")
    bench.tick(4000)
    bench.say("undo", 4010)
    assert bench.it.part("roof").state == "waiting"


def test_seams_are_asked_for_within_half_the_window():
    bench = Bench()
    bench.say("prepped", 0, panel="left_quarter")
    bench.say("laying", 100, panel="left_quarter")
    bench.say("covered", 160, panel="left_quarter")
    (bare,) = [d for d in deadlines(bench.it) if d.alert == "bare_seams"]
    assert bare.due_at_utc == at(160 + 150)
    assert "roof" in bare.neighbours
    bench.say("all_round", 200, panel="left_quarter")
    assert not [d for d in deadlines(bench.it) if d.alert == "bare_seams"]


def test_a_closed_job_has_no_deadlines():
    bench = Bench()
    bench.coat("roof", 0, 100)
    bench.say("close_job", 200)
    bench.say("insist", 201)
    assert bench.it.closed_at_utc == at(201)
    assert deadlines(bench.it) == ()
    assert next_due_utc(bench.it) is None


def test_what_follows_a_kind_is_a_kind_and_no_less_urgent():
    assert len(KINDS) == len(ROWS)
    for kind in ROWS:
        assert set(kind.followed_by) <= set(KINDS)
        for nearer, later in pairwise((kind.name, *kind.followed_by)):
            assert KINDS[nearer].urgency <= KINDS[later].urgency
            assert KINDS[nearer].followed_by[-1:] in ((), (kind.followed_by[-1],))


def test_the_clock_needs_a_window_and_a_start():
    bench = Bench()
    bench.coat("roof", 0, 100)
    part = bench.it.part("roof")
    clocks_of = (
        clocks.earliest_at_utc,
        clocks.best_at_utc,
        clocks.closing_at_utc,
        clocks.latest_at_utc,
        clocks.trial_at_utc,
    )
    assert all(clock(part) is not None for clock in clocks_of)
    assert all(
        clock(replace(part, coat=replace(part.coat, window=None))) is None for clock in clocks_of
    )
    bare = replace(part, coat=Coat())
    assert all(clock(bare) is None for clock in clocks_of)


def test_stages_are_events_that_the_story_went_through():
    bench = Bench()
    stages = [
        event.stage
        for decision in bench.it.decisions
        for event in decision.events
        if isinstance(event, StageStarted)
    ]
    assert stages[-1] == "coating"
