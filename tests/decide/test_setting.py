"""Windows, air and trials in a job, as commands are typed. Common practice, no source."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bayhelper.decide.acts.surfaces import air_measured
from bayhelper.decide.due.deadlines import deadlines
from bayhelper.decide.job import setting
from bayhelper.decide.outcome import Outcome
from bayhelper.decide.replay import fold
from bayhelper.reckon import calibration, cure
from bayhelper.reckon.cure import Air, rate
from bayhelper.terms import events as ev
from bayhelper.terms.subjects.surfaces import NearDewPointReply, OutsideSheetReply
from tests.decide.stories import TO_COATING
from tests.decide.worker import DESK, Worker, says
from tests.known import known

PANELS = ("prepped panel=bonnet", "laying panel=bonnet", "covered panel=bonnet all_round=true")
SHEET = known(DESK.products["demo_gloss"].setting)


def coating(*lines: str) -> Worker:
    worker = Worker()
    worker.do(*TO_COATING, *lines)
    return worker


def windows(worker: Worker) -> tuple[float, float, float]:
    window = worker.it.part("bonnet").coat.window
    assert window is not None
    return window.earliest_s, window.best_s, window.latest_s


def topics(outcome: Outcome) -> list[str]:
    return [say.topic for say in says(outcome)]


def test_without_readings_the_sheets_figures_stand():
    worker = coating(*PANELS)
    assert windows(worker) == (180, 300, 480)


def test_at_the_reference_air_the_sheet_is_exact_and_says_what_was_taken():
    worker = coating("set_air_temp temp_c=21", "set_humidity humidity_percent=50", *PANELS)
    assert windows(worker) == (180, 300, 480)
    window = worker.it.part("bonnet").coat.window
    assert window is not None
    assert "air 21 degrees 50 percent" in window.basis
    assert "panel temperature not known, the air's taken" in window.basis


def test_humid_air_brings_two_to_three_minutes():
    worker = coating("set_air_temp temp_c=26", "set_humidity humidity_percent=75", *PANELS)
    assert 120 <= windows(worker)[1] <= 180


def test_a_change_of_air_sets_open_clocks_anew_and_is_said_once():
    worker = coating("set_air_temp temp_c=21", "set_humidity humidity_percent=50", *PANELS)
    worker.wait(150)
    outcome = worker.say("set_humidity humidity_percent=90")
    assert topics(outcome).count("retimed") == 1
    left_s = 150 / rate(SHEET, Air(21, 90))
    assert windows(worker)[1] == pytest.approx(150 + left_s, abs=0.2)
    assert "retimed" not in topics(worker.say("set_humidity humidity_percent=90"))


def test_a_small_change_of_air_leaves_the_clocks_alone():
    worker = coating("set_air_temp temp_c=21", "set_humidity humidity_percent=50", *PANELS)
    before = windows(worker)
    assert topics(worker.say("set_humidity humidity_percent=53")) == ["humidity"]
    assert windows(worker) == before


def test_the_days_figure_is_said_once_and_serves_the_next_panel():
    worker = coating("set_air_temp temp_c=21", "set_humidity humidity_percent=50", *PANELS)
    worker.wait(120)
    assert topics(worker.say("trial panel=bonnet result=wet")) == ["trial_wet"]
    worker.wait(60)
    outcome = worker.say("trial panel=bonnet result=clean")
    assert topics(outcome) == ["trial_clean", "day_figure"]
    (found,) = [e for e in outcome.events if isinstance(e, ev.DayFigureFound)]
    assert 120 <= found.window.earliest_s <= 180
    assert found.low_s < found.window.best_s < found.high_s
    worker.do("levelled panel=bonnet", "buffed panel=bonnet", "prepped panel=roof")
    worker.do("laying panel=roof", "covered panel=roof all_round=true")
    window = worker.it.part("roof").coat.window
    assert window is not None
    assert window.best_s == pytest.approx(found.window.best_s, rel=0.02)
    assert "from 2 trials" in window.basis
    called = {d.subject: d.due_at_utc for d in deadlines(worker.it) if d.alert == "trial_ready"}
    earliest = worker.now_utc + timedelta(seconds=window.earliest_s)
    assert called["roof"] == earliest, "no longer at two of five minutes"
    worker.wait(200)
    assert "day_figure" not in topics(worker.say("trial panel=roof result=clean"))


def test_contradicting_trials_are_said_to_disagree():
    worker = coating(*PANELS)
    worker.wait(180)
    worker.do("trial panel=bonnet result=clean")
    worker.wait(90)
    assert topics(worker.say("trial panel=bonnet result=wet")) == ["trial_wet", "trials_disagree"]


def test_a_trial_that_is_taken_back_teaches_nothing():
    worker = coating(*PANELS)
    worker.wait(120)
    worker.do("trial panel=bonnet result=clean", "undo")
    assert worker.it.trial_log == () and worker.it.day_window is None


def test_old_readings_are_said_to_be_old_once():
    worker = coating("set_air_temp temp_c=21", "set_humidity humidity_percent=50")
    (stale,) = [d for d in deadlines(worker.it) if d.alert == "air_stale"]
    assert stale.due_at_utc - worker.now_utc == timedelta(minutes=60)
    worker.wait(3600)
    worker.wait(7200)
    raised = [
        event
        for decision in worker.it.decisions
        for event in decision.events
        if isinstance(event, ev.AlertRaised) and event.alert == "air_stale"
    ]
    assert len(raised) == 1


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("set_panel_temp panel=bonnet temp_c=45", "panel too hot"),
        ("set_panel_temp panel=bonnet temp_c=5", "panel too cold"),
        ("set_air_temp temp_c=34", "air too warm"),
        ("set_humidity humidity_percent=20", "air too dry"),
    ],
)
def test_outside_the_sheets_range_is_a_caution(line, what):
    said = [s for s in says(coating().say(line)) if isinstance(s, OutsideSheetReply)]
    assert [s.what for s in said] == [what]


def test_a_caution_is_said_when_it_begins_and_not_at_every_reading():
    worker = coating()
    lines = [f"set_air_temp temp_c={temp_c}" for temp_c in (34, 35, 34, 25, 33)]
    told = [[s.topic for s in says(worker.say(line))][1:] for line in lines]
    assert told == [["outside_sheet"], [], [], [], ["outside_sheet"]]


def test_a_surface_near_the_dew_point_is_told_again_only_when_it_comes_nearer():
    """At 20 degrees and 60 percent the dew point is 12.0 degrees (psychrolib, see reckon)."""
    worker = coating("set_air_temp temp_c=20", "set_humidity humidity_percent=60")
    readings = (("bonnet", 14.8), ("bonnet", 14.5), ("roof", 14.0), ("bonnet", 13.4), ("roof", 16))
    told = []
    for panel, temp_c in readings:
        said = says(worker.say(f"set_panel_temp panel={panel} temp_c={temp_c}"))
        told.append([s.panel for s in said if isinstance(s, NearDewPointReply)])
    assert told == [["bonnet"], [], ["roof"], ["bonnet"], []]
    now = worker.now_utc + timedelta(seconds=1)
    assert "near_dew_point" in topics(air_measured(worker.it, 20.0, 75.0, now, now))
    assert "near_dew_point" not in topics(air_measured(worker.it, 20.0, 60.0, now, now))


def test_a_logger_that_leaves_the_sheets_range_says_so_once():
    worker = coating()
    now = worker.now_utc
    assert "outside_sheet" in topics(air_measured(worker.it, 35.0, 50.0, now, now))
    worker.do("set_air_temp temp_c=35", "set_humidity humidity_percent=50")
    now = worker.now_utc + timedelta(seconds=1)
    assert "outside_sheet" not in topics(air_measured(worker.it, 35.5, 50.0, now, now))


def test_a_loggers_row_is_silent_unless_clocks_change():
    worker = coating(*PANELS)
    now = worker.now_utc
    quiet = air_measured(worker.it, 21.0, 50.0, now, now)
    assert not quiet.effects and len(quiet.events) == 2
    loud = air_measured(worker.it, 28.0, 80.0, now, now)
    assert topics(loud) == ["retimed"]
    assert not air_measured(worker.it, 21.0, 140.0, now, now).events


def test_replay_reckons_nothing(monkeypatch):
    worker = coating("set_air_temp temp_c=21", "set_humidity humidity_percent=50", *PANELS)
    worker.wait(100)
    worker.do("set_humidity humidity_percent=90", "trial panel=bonnet result=wet", "wait 30")
    worker.do("trial panel=bonnet result=clean")

    def never(*_: object, **__: object) -> None:
        raise AssertionError("reckoned")

    for module in (cure, setting):
        monkeypatch.setattr(module, "due", never)
    for module in (calibration, setting):
        monkeypatch.setattr(module, "calibrate", never)
    assert fold(worker.it.decisions) == worker.it
