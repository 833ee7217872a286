"""Correction in few words: a section is one utterance, worked by the habit set for the job.

A pad is cleaned between sections, and fresh polish never goes on a dirty pad (common practice, no
source).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from bayhelper.terms import events as ev
from tests.decide.bench import PRODUCTS, TO_CORRECTION, Bench
from tests.decide.worker import Worker, says

E = TypeVar("E", bound=ev.Event)


def correcting(*lines: str, body: str = "tiny") -> Worker:
    worker = Worker("one_step", body)
    worker.do("start_stage stage=inspection", "start_stage stage=correction", *lines)
    return worker


def facts(worker: Worker, *kinds: type[E]) -> list[E]:
    return [e for d in worker.it.decisions for e in d.events if isinstance(e, kinds)]


def test_a_panel_of_six_sections_takes_six_utterances():
    worker = correcting()
    before = worker.it.number
    worker.do("section_done panel=roof", *["section_done"] * 5)
    assert worker.it.number - before == 6
    assert worker.states() == {"roof": "machining"}
    assert len(facts(worker, ev.SectionDone)) == 6
    assert (worker.it.pad.cleanings, worker.it.pad.cleanings_assumed) == (5, 5)


def test_a_whole_car_is_corrected_with_at_most_one_utterance_a_section():
    worker = correcting(body="saloon")
    before, sections = worker.it.number, 0
    panels = [p for p in worker.it.body.panels if p.kind == "panel" and not p.covered_with]
    for panel in panels:
        worker.do(f"section_done panel={panel.id}", *["section_done"] * (panel.sections - 1))
        sections += panel.sections
    assert worker.it.number - before == sections
    worker.do(*(f"prepped panel={panel.id}" for panel in panels))
    assert {worker.it.part(panel.id).state for panel in panels} == {"prepped"}
    assert worker.it.stage == "panel_wipe"


def test_what_was_said_of_the_pad_is_not_counted_twice():
    worker = correcting("section_done panel=roof", "pad_cleaned", "section_done")
    assert (worker.it.pad.cleanings, worker.it.pad.cleanings_assumed) == (1, 0)
    worker.do("pad_changed", "section_done")
    assert (worker.it.pad.cleanings, worker.it.pad.changes) == (1, 1)


def test_fresh_polish_on_a_dirty_pad_still_speaks():
    worker = correcting("section_done panel=roof")
    assert worker.topic("polish_on") == "dirty_pad"
    worker.do("pad_cleaned", "polish_on", "section_done")
    assert worker.topic("polish_on") == "dirty_pad"


def test_a_pad_that_somebody_insisted_on_was_not_cleaned():
    worker = correcting("section_done panel=roof")
    worker.say("polish_on")
    worker.do("insist", "section_done")
    assert (worker.it.pad.sections, worker.it.pad.cleanings) == (2, 0)
    worker.do("section_done")
    assert (worker.it.pad.sections, worker.it.pad.cleanings_assumed) == (1, 1)


def test_a_habit_of_three_sections_implies_a_clean_pad_after_three():
    worker = correcting()
    polish = replace(PRODUCTS["demo_one_step"], sections_per_clean=3)
    worker.job = replace(worker.it, products=worker.it.products | {polish.id: polish})
    worker.do("section_done panel=roof", *["section_done"] * 6)
    assert worker.it.pad.cleanings_assumed == 2
    assert worker.it.pad.sections == 1


def test_the_pad_is_reminded_of_once_a_section_and_never_nags():
    bench = Bench("one_step", TO_CORRECTION)
    for at_s in (100, 400, 700):
        bench.say("section_done", at_s, panel="roof")
    bench.run(3000)
    assert bench.raised("pad_due") == [("pad_due", "pad", t) for t in (100, 400, 700)]


def test_taking_a_section_back_takes_back_what_it_implied():
    worker = correcting("section_done panel=roof")
    before = worker.it
    worker.do("section_done panel=bonnet", "undo")
    assert (worker.it.pad, worker.it.machining) == (before.pad, "roof")
    assert worker.states() == before_states(before)


def before_states(job) -> dict[str, str]:
    return {key: part.state for key, part in job.parts.items()}


def test_the_first_section_of_a_gentle_panel_asks_as_its_start_does():
    for flag in ("matte", "wrapped", "thin", "plastic"):
        worker = correcting(f"flag_panel panel=roof flag={flag}")
        (said,) = says(worker.say("section_done panel=roof"))
        assert (said.topic, worker.it.machining) == ("gentle_panel", "")
        worker.do("insist")
        assert worker.it.machining == "roof"
        (started,) = facts(worker, ev.PanelStarted)
        assert started.insisted


def test_a_test_spot_does_not_begin_correction():
    worker = Worker("one_step")
    worker.do("start_stage stage=inspection", "section_done panel=roof")
    assert (worker.it.stage, worker.it.machining) == ("inspection", "")


def test_the_panel_wipe_tells_that_machining_is_over():
    worker = correcting("section_done panel=roof", "prepped panel=roof")
    assert (worker.it.stage, worker.it.machining) == ("panel_wipe", "")
    assert worker.states() == {"roof": "prepped"}
    worker.do("undo")
    assert (worker.it.stage, worker.it.machining) == ("correction", "roof")
