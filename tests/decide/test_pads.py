"""Pads: a pad is cleaned between sections (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.decide.job import pads
from tests.decide.bench import PRODUCTS, TO_CORRECTION, Bench


def correcting() -> Bench:
    bench = Bench("one_step", TO_CORRECTION)
    bench.say("start_panel", 0, panel="roof")
    return bench


def test_one_section_makes_a_pad_dirty_and_cleaning_ends_it():
    bench = correcting()
    assert not pads.dirty(bench.it)
    bench.say("section_done", 100)
    assert pads.dirty(bench.it)
    assert pads.sections_left(bench.it) == 0
    bench.say("pad_cleaned", 130)
    assert not pads.dirty(bench.it)
    assert pads.pads_used(bench.it) == 1


def test_a_changed_pad_is_clean_and_counted():
    bench = correcting()
    bench.say("section_done", 100)
    bench.say("pad_changed", 130)
    assert not pads.dirty(bench.it)
    assert pads.pads_used(bench.it) == 2


def test_the_habit_of_the_shop_is_the_sheets():
    bench = correcting()
    polish = replace(PRODUCTS["demo_one_step"], sections_per_clean=3)
    job = replace(bench.it, products=bench.it.products | {polish.id: polish})
    assert pads.sections_allowed(job) == 3
    two = replace(job, pad=replace(job.pad, sections=2))
    assert not pads.dirty(two)
    assert pads.sections_left(two) == 1
    assert pads.dirty(replace(job, pad=replace(job.pad, sections=3)))


def test_a_plan_without_polish_still_cleans_after_every_section():
    assert pads.sections_allowed(Bench("coat_only").it) == 1


def test_undo_gives_the_section_back():
    bench = correcting()
    bench.say("section_done", 100)
    bench.say("undo", 110)
    assert not pads.dirty(bench.it)
    bench.run(2000)
    assert len(bench.raised("pad_due")) == 1
