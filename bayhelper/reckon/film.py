"""Film thickness: what several readings of one panel say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from bayhelper.terms.errors import ReckonError


@dataclass(frozen=True)
class Film:
    """Readings of one panel, summed up. A gauge reads the total film, never the clear coat."""

    count: int
    """Number of readings."""
    mean_um: float
    """Mean, micrometres."""


def film(readings_um: Sequence[float]) -> Film | None:
    """What the readings of one panel say; None when there are none.

    Raises ReckonError for a reading that is not above 0.
    """
    if not readings_um:
        return None
    wrong = [reading for reading in readings_um if not reading > 0]
    if wrong:
        raise ReckonError(
            f"A film reading must be above 0 micrometres, but one is {wrong[0]:g}. "
            "Zero the gauge and read again; where it cannot read, give no reading."
        )
    return Film(count=len(readings_um), mean_um=fmean(readings_um))
