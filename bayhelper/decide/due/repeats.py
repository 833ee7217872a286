"""How often an alert comes back, and what an answer does to it."""

from __future__ import annotations

REPEATS_S: dict[str, tuple[float, ...]] = {
    "wipe_now": (30, 20, 15),
    "closing": (20, 15),
    "overdue": (60, 45, 30),
    "recoat_closing": (900, 600, 300),
    "dwell_due": (30, 20, 15),
    "dwell_over": (20, 15, 10),
    "bare_seams": (90, 60),
}
"""Shortening waits between repeats, seconds; the last holds. Only for what is due or urgent."""
ONCE_MORE_S: dict[str, float] = {"look_again": 900, "residue_due": 900, "recoat_missed": 900}
"""Soft reminders, and what can no longer be saved, come back once, after so many seconds. Kinds in
neither table speak once."""
PATIENCE = 20
"""After so many repeats nobody is near: from then on one every PATIENT_S."""
PATIENT_S = 300.0
"""Wait between repeats that nobody acts on, seconds."""

ALWAYS_AGAIN = frozenset({"closing", "overdue", "dwell_over"})
"""What costs a panel: an answer makes it wait its longest interval, and never silences it."""


def interval_s(alert: str, repeat: int, answered: bool = False) -> float | None:
    """Seconds from one raising to the next; None when it is not raised again.

    `repeat` is 0 after the first raising. What is soft never nags: at most one repeat, and none
    after an answer.
    """
    if alert in ONCE_MORE_S:
        return None if answered or repeat else ONCE_MORE_S[alert]
    waits = REPEATS_S.get(alert, ())
    if not waits:
        return None
    if answered:
        return waits[0] if alert in ALWAYS_AGAIN else None
    if repeat >= PATIENCE:
        return max(waits[-1], PATIENT_S)
    return waits[min(repeat, len(waits) - 1)]
