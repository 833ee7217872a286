"""Film readings."""

from __future__ import annotations

import pytest

from bayhelper.reckon.film import film, mils_from_um, um_from_mils
from bayhelper.terms.errors import ReckonError


def test_a_mil_is_25_4_micrometres_exactly():
    """International yard and pound agreement, 1959: an inch is 25.4 mm."""
    assert um_from_mils(1) == 25.4
    assert um_from_mils(5) == 127.0
    assert mils_from_um(254) == 10.0


def test_three_readings_make_a_spot_and_a_rest_makes_none():
    """SSPC-PA 2, from memory: a spot measurement is the mean of three gauge readings."""
    summed = film((110.0, 120.0, 130.0, 90.0, 100.0, 95.0, 300.0))
    assert summed is not None
    assert summed.spots_um == (120.0, 95.0)
    assert summed.count == 7


def test_mean_least_most_and_spread():
    summed = film((100.0, 140.0))
    assert summed is not None
    assert (summed.mean_um, summed.least_um, summed.most_um) == (120.0, 100.0, 140.0)
    assert summed.spread_um == 40.0
    assert summed.spots_um == ()


def test_no_readings_say_nothing():
    assert film(()) is None


@pytest.mark.parametrize("reading_um", [0.0, -3.0, float("nan")])
def test_a_reading_that_cannot_be_is_refused(reading_um):
    with pytest.raises(ReckonError, match="above 0"):
        film((100.0, reading_um))


def test_clear_coat_left_is_never_stated():
    """A gauge reads the total film (ASTM D7091, from memory)."""
    summed = film((100.0,))
    assert not [name for name in dir(summed) if "clear" in name]
