"""The bay's one loop: it owns the time; whatever comes in, by whichever door, comes through it."""

from __future__ import annotations

from collections.abc import Sequence

from bayhelper.run.bay.bay import Bay
from bayhelper.run.bay.door import Attendant, Door
from bayhelper.run.bay.timekeeping import keep_time
from bayhelper.run.bay.waiting import Waits


class Loop:
    """Lets deadlines fall due at their own instants, and hands on what the sources bring."""

    def __init__(
        self, bay: Bay, waits: Waits, sources: Sequence[Door], attendants: Sequence[Attendant]
    ) -> None:
        """Each attendant is told of everything, in the order given."""
        self._bay = bay
        self._waits = waits
        self._sources = sources
        self._attendants = attendants
        self._ended = False

    def end(self) -> None:
        """Leave the loop at its next turn."""
        self._ended = True

    def run(self) -> None:
        """Until it is ended, or every source is over."""
        while not self._ended and not all(source.over for source in self._sources):
            self.turn()

    def turn(self) -> None:
        """Wait for the next thing that happens, and deal with it."""
        clock = self._waits.clock
        keep_time(self._bay, clock)
        for source in self._waits.wait(self._sources, self._bay.next_due_utc()):
            self._bay.pass_time(clock.now_utc())
            for thing in source.take():
                for attendant in self._attendants:
                    attendant.handle(thing)
        self._bay.pass_time(clock.now_utc())
        for attendant in self._attendants:
            attendant.look_after()
