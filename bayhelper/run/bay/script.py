"""Things at instants of a clock that is moved by hand, each known when the last was dealt with."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime

from bayhelper.run.bay.door import Arrival, Door

Step = tuple[datetime, Callable[[], Arrival | None]]
"""An instant, and what to make then; instants that are past count as now."""


class Script(Door):
    """Plays steps one after the other."""

    def __init__(self, steps: Iterator[Step]) -> None:
        """The iterator is asked for the next step only when all before was dealt with."""
        self._steps = steps
        self._next: Step | None = None

    @property
    def over(self) -> bool:
        """Whether the last step was played."""
        if self._next is None:
            self._next = next(self._steps, None)
        return self._next is None

    def next_utc(self) -> datetime | None:
        return None if self.over or self._next is None else self._next[0]

    def take(self) -> Sequence[Arrival]:
        if self._next is None:
            return ()
        step, self._next = self._next, None
        thing = step[1]()
        return () if thing is None else (thing,)
