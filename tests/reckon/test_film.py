"""Film readings."""

from __future__ import annotations

import pytest

from bayhelper.reckon.film import film
from bayhelper.terms.errors import ReckonError


def test_the_mean_is_of_all_readings():
    summed = film((100.0, 140.0, 150.0))
    assert summed is not None
    assert (summed.count, summed.mean_um) == (3, 130.0)


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
