"""The way round the car: short, and the same on either side."""

from cmath import phase
from itertools import permutations
from math import pi

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bayhelper.reckon.walk import middle_of, place_of, walked
from bayhelper.sheets.bodies import load_body
from bayhelper.sheets.reading import shipped_ids
from tests.known import known

MIDDLE = (2.5, 0.0)
PLACES = {"nose": (0.0, 0.0), "left": (2.5, 1.0), "tail": (5.0, 0.0), "right": (2.5, -1.0)}


def names(start, *wanted):
    order = walked([PLACES[name] for name in wanted], PLACES[start], MIDDLE)
    return [wanted[number] for number in order]


def test_one_begins_where_one_stands_and_goes_on_round():
    assert names("left", "tail", "left", "right") == ["left", "tail", "right"]
    assert names("left", "nose", "right") == ["nose", "right"]
    assert names("tail", "nose", "left", "tail") == ["tail", "left", "nose"]


def test_a_step_back_is_shorter_than_going_all_the_way_round():
    order = walked([(1.9, 1.0), (5.0, 0.0), (4.0, -1.0)], (2.0, 1.0), MIDDLE)
    assert order == (0, 1, 2), "the one behind first, then round by the tail"


def test_nothing_to_pass_is_no_walk():
    assert names("right") == []


def test_where_both_ways_are_as_long_the_right_side_comes_first():
    assert names("nose", "left", "right", "tail") == ["right", "tail", "left"]


POINTS = st.tuples(st.integers(0, 50), st.integers(-10, 10)).map(lambda p: (p[0] / 10, p[1] / 10))


def turned(place):
    """Around MIDDLE, in degrees, by another formula than the code's."""
    value = complex(place[0] - MIDDLE[0], place[1] - MIDDLE[1])
    return (180 / pi) * phase(value) % 360


@given(st.lists(POINTS, max_size=5), POINTS)
def test_no_order_of_the_places_is_a_shorter_way_round(places, start):
    assume(MIDDLE not in places and start != MIDDLE)
    order = walked(places, start, MIDDLE)
    assert sorted(order) == list(range(len(places)))

    def length(numbers):
        at, total = turned(start), 0.0
        for number in numbers:
            step = (turned(places[number]) - at) % 360
            total += min(step, 360 - step)
            at = turned(places[number])
        return total

    shortest = min(length(other) for other in permutations(range(len(places))))
    assert length(order) == pytest.approx(shortest, abs=1e-3)


@given(st.lists(POINTS, min_size=1, max_size=6), POINTS)
def test_the_mirror_of_a_walk_is_as_short_as_the_walk_of_the_mirror(places, start):
    def mirrored(place):
        return place[0], -place[1]

    def length(numbers, at, points):
        total = 0.0
        for number in numbers:
            step = (turned(points[number]) - turned(at)) % 360
            total, at = total + min(step, 360 - step), points[number]
        return total

    here = length(walked(places, start, MIDDLE), start, places)
    flipped = [mirrored(place) for place in places]
    there = length(walked(flipped, mirrored(start), MIDDLE), mirrored(start), flipped)
    assume(MIDDLE not in places and start != MIDDLE)
    assert here == pytest.approx(there, abs=1e-3)


@pytest.mark.parametrize("name", shipped_ids("bodies"))
def test_every_seam_of_a_drawn_body_has_its_place(name):
    body = load_body(name)
    assert middle_of(body)[0] > 1.5
    for seam in body.seams:
        place = place_of(body, (seam.a, seam.b))
        sides = {known(body.panel(panel_id)).side for panel_id in (seam.a, seam.b)}
        if place is not None and "middle" not in sides and len(sides) == 1:
            assert (place[1] > 0) == (sides == {"left"})
