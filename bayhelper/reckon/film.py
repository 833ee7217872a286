"""Film thickness: units, and what several readings of one panel say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from bayhelper.terms.errors import ReckonError

UM_PER_MIL = 25.4
"""Micrometres in a mil: exact, from the international inch of 25.4 mm."""
READINGS_PER_SPOT = 3
"""Gauge readings that make one spot measurement (SSPC-PA 2, from memory)."""


def um_from_mils(mils: float) -> float:
    """Micrometres."""
    return mils * UM_PER_MIL


def mils_from_um(film_um: float) -> float:
    """Mils, thousandths of an international inch."""
    return film_um / UM_PER_MIL


@dataclass(frozen=True)
class Film:
    """Readings of one panel, summed up. A gauge reads the total film, never the clear coat."""

    count: int
    """Number of readings."""
    mean_um: float
    """Mean, micrometres."""
    least_um: float
    """Thinnest, micrometres."""
    most_um: float
    """Thickest, micrometres."""
    spots_um: tuple[float, ...]
    """Mean of every three readings in a row, micrometres; a rest of one or two makes no spot."""

    @property
    def spread_um(self) -> float:
        """Thickest less thinnest, micrometres."""
        return self.most_um - self.least_um


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
    whole = len(readings_um) // READINGS_PER_SPOT * READINGS_PER_SPOT
    return Film(
        count=len(readings_um),
        mean_um=fmean(readings_um),
        least_um=min(readings_um),
        most_um=max(readings_um),
        spots_um=tuple(
            fmean(readings_um[i : i + READINGS_PER_SPOT])
            for i in range(0, whole, READINGS_PER_SPOT)
        ),
    )
