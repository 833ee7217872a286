"""Steps from version to version, on made-up types: every way in which a form may change."""

from dataclasses import dataclass
from typing import ClassVar

import pytest

from bayhelper.plain.shapes import Shapes
from bayhelper.plain.versions import Step, Upcasters
from bayhelper.terms.errors import PlainError


@dataclass(frozen=True)
class Lamp:
    version: ClassVar[int] = 3
    name: str
    watts: float


@dataclass(frozen=True)
class Bay:
    version: ClassVar[int] = 1
    lamps: tuple[Lamp, ...]
    spare: Lamp | None = None


KNOWN = {"Lamp": 3, "Bay": 1}
STEPS = {
    ("Light", 1): Step(lambda f: f | {"name": f.pop("label")}),
    ("Light", 2): Step(lambda f: {"name": f["name"], "watts": f["power"]}, renamed_to="Lamp"),
}


def test_steps_are_taken_in_order_and_a_type_may_be_renamed_on_the_way():
    upcasters = Upcasters(KNOWN, STEPS)
    lamp = ("Lamp", {"name": "left", "watts": 60.0})
    assert upcasters.raised("Light", 1, {"label": "left", "power": 60.0}) == lamp
    assert upcasters.raised("Light", 2, {"name": "left", "power": 60.0}) == lamp
    assert upcasters.raised("Lamp", 3, {"name": "left", "watts": 60.0}) == lamp


def test_a_record_that_is_given_is_not_changed():
    given = {"label": "left", "power": 60.0}
    Upcasters(KNOWN, STEPS).raised("Light", 1, given)
    assert given == {"label": "left", "power": 60.0}


@pytest.mark.parametrize("left_out", list(STEPS))
def test_a_gap_is_refused_when_the_table_is_made(left_out):
    steps = {version: step for version, step in STEPS.items() if version != left_out}
    with pytest.raises(PlainError, match="Expected a step"):
        Upcasters(KNOWN, steps)


def test_a_step_that_leads_past_the_class_is_refused():
    with pytest.raises(PlainError, match="raise the version of the class"):
        Upcasters(KNOWN, STEPS | {("Lamp", 3): Step(dict)})
    with pytest.raises(PlainError, match="Expected a step to version 2 of Bay"):
        Upcasters(KNOWN | {"Bay": 2}, STEPS)


@pytest.mark.parametrize(
    ("name", "version", "said"),
    [
        ("Torch", 1, "'Torch', which this version does not know"),
        ("Lamp", 4, "Lamp in version 4; this program knows 3"),
        ("Lamp", 2, "Lamp in version 2; this program knows 3"),
        ("Lamp", True, "must have a version"),
        ("Lamp", "3", "must have a version"),
        ("Light", 1, "does not have the fields that its version 1 had"),
    ],
)
def test_what_no_step_is_for_is_refused(name, version, said):
    with pytest.raises(PlainError, match=said):
        Upcasters(KNOWN, STEPS).raised(name, version, {})


def test_what_is_inside_carries_its_own_version():
    shapes = Shapes(Upcasters(KNOWN, STEPS))
    bay = Bay(lamps=(Lamp("left", 60.0),), spare=Lamp("box", 40.0))
    plain = shapes.plain(bay)
    assert plain == {
        "version": 1,
        "lamps": [{"version": 3, "name": "left", "watts": 60.0}],
        "spare": {"version": 3, "name": "box", "watts": 40.0},
    }
    assert shapes.read(plain, Bay, "here", "") == bay


def test_what_is_inside_is_brought_up_by_itself():
    steps = {
        ("Lamp", 1): Step(lambda f: f | {"name": f.pop("label")}),
        ("Lamp", 2): Step(lambda f: {"name": f["name"], "watts": f["power"]}),
    }
    shapes = Shapes(Upcasters(KNOWN, steps))
    old = {"version": 1, "lamps": [{"version": 1, "label": "left", "power": 60.0}]}
    assert shapes.read(old, Bay, "here", "") == Bay((Lamp("left", 60.0),))


@pytest.mark.parametrize(
    ("lamp", "said"),
    [
        ({"name": "left", "watts": 60.0}, "entry 1 of 'lamps' must have a 'version'"),
        ({"version": 9, "name": "left", "watts": 60.0}, "Lamp in version 9"),
        ({"version": 3, "name": "left"}, r"here \[\[lamps\]\] number 1: 'watts' is missing"),
    ],
)
def test_what_is_wrong_with_what_is_inside_is_said(lamp, said):
    shapes = Shapes(Upcasters(KNOWN, STEPS))
    with pytest.raises(PlainError, match=said):
        shapes.read({"version": 1, "lamps": [lamp]}, Bay, "here", "Look there.")
