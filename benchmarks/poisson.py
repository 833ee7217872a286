"""Upper bounds of rates of which few events were seen."""

from __future__ import annotations

UPPER_95 = (3.0, 4.74, 6.3, 7.75, 9.15, 10.51, 11.84, 13.15, 14.43, 15.71)
"""Upper 95 % bound (one-sided) of a Poisson mean after 0, 1, 2 ... events (from memory)."""


def upper_95_per_hour(events: int, hours: float) -> float | None:
    """The bound of a rate, an hour; None without any hours, or for more events than the table."""
    if events >= len(UPPER_95) or not hours:
        return None
    return UPPER_95[events] / hours
