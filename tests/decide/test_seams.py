"""Seams: bare, open, lapped, unwiped. Which neighbours a car's panels have is a fact of the car."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.decide.job import seams
from tests.decide.bench import SALOON, Bench

DOOR = "left_front_door"


def ids(found) -> set[str]:
    return {seam.id for seam in found}


def lay(bench: Bench, panel: str, start_s: float, **slots: bool) -> None:
    bench.say("prepped", start_s, panel=panel)
    bench.say("laying", start_s, panel=panel)
    bench.say("covered", start_s + 60, panel=panel, **slots)


def test_before_product_is_on_nothing_is_bare():
    assert seams.bare_seams(Bench().it) == ()
    assert seams.leaving(Bench().it, DOOR) == ()


def test_a_panel_laid_without_lapping_is_bare_to_its_coated_neighbours():
    bench = Bench()
    lay(bench, DOOR, 0)
    across = {seams.across(seam, DOOR) for seam in seams.bare_seams(bench.it, DOOR)}
    assert across == {"left_front_wing", "left_rear_door", "left_sill", "roof"}
    assert seams.leaving(bench.it, DOOR) == seams.bare_seams(bench.it, DOOR)


def test_glass_and_hidden_faces_count_when_the_plan_coats_them():
    bench = Bench()
    lay(bench, "roof", 0)
    assert "windscreen" not in {
        seams.across(seam, "roof") for seam in seams.bare_seams(bench.it, "roof")
    }
    wider = replace(bench.it, plan=replace(bench.it.plan, coats=("panel", "glass")))
    assert "windscreen" in {seams.across(seam, "roof") for seam in seams.bare_seams(wider, "roof")}


def test_a_mirror_that_is_laid_with_its_door_has_no_seam_of_its_own():
    bench = Bench()
    lay(bench, DOOR, 0)
    assert "left_mirror" not in str(ids(seams.round_of(bench.it, DOOR)))
    assert seams.laid(bench.it, "left_mirror")


def test_all_round_laps_every_seam_and_one_word_laps_one():
    bench = Bench()
    lay(bench, DOOR, 0, all_round=True)
    assert seams.bare_seams(bench.it) == ()
    lay(bench, "bonnet", 100)
    bare = ids(seams.bare_seams(bench.it, "bonnet"))
    bench.say("lapped", 170, panel="bonnet", neighbour="left_front_wing")
    assert bare - ids(seams.bare_seams(bench.it, "bonnet")) == {"bonnet+left_front_wing"}


def test_a_seam_is_lapped_from_either_side():
    bench = Bench()
    lay(bench, DOOR, 0, all_round=True)
    lay(bench, "roof", 100)
    assert "left_front_door+roof" not in ids(seams.bare_seams(bench.it, "roof"))


def test_wiping_has_laps_of_its_own():
    """Product left past a seam and not wiped makes high spots (common practice, no source)."""
    bench = Bench()
    lay(bench, DOOR, 0, all_round=True)
    assert ids(seams.unwiped_seams(bench.it, DOOR)) == ids(seams.round_of(bench.it, DOOR))
    bench.say("levelled", 300, panel=DOOR, all_round=True)
    assert seams.unwiped_seams(bench.it, DOOR) == ()


def test_another_layer_starts_bare():
    bench = Bench("correction_coat")
    lay(bench, DOOR, 0, all_round=True)
    bench.say("levelled", 300, panel=DOOR)
    bench.say("buffed", 350, panel=DOOR)
    bench.say("start_layer", 4000, layer=2)
    assert seams.bare_seams(bench.it) == ()
    bench.say("laying", 4010, panel=DOOR)
    assert ids(seams.leaving(bench.it, DOOR)) == ids(seams.round_of(bench.it, DOOR))


def test_every_seam_has_two_sides():
    bench = Bench()
    for seam in SALOON.seams:
        assert seams.seam_between(bench.it, seam.a, seam.b) == seam
        assert seams.across(seam, seam.a) == seam.b
        assert seams.across(seam, seam.b) == seam.a
    assert seams.seam_between(bench.it, "roof", "front_bumper") is None


def test_an_unknown_panel_is_not_coated():
    assert not seams.coated(Bench().it, "wheel")
    assert seams.host(Bench().it, "wheel") == "wheel"
