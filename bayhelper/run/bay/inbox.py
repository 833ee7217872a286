"""The way of what other threads report into the loop, which sleeps on file descriptors."""

from __future__ import annotations

import os
import queue
from collections.abc import Sequence
from contextlib import suppress

from bayhelper.run.bay.door import Arrival, Door
from bayhelper.terms.closing import Closing


class Inbox(Closing, Door):
    """A queue that wakes whoever waits for its file descriptor."""

    def __init__(self) -> None:
        self._items: queue.SimpleQueue[Arrival] = queue.SimpleQueue()
        self._read, self._write = os.pipe()
        os.set_blocking(self._read, False)
        os.set_blocking(self._write, False)

    def close(self) -> None:
        """Nothing wakes anybody any more."""
        os.close(self._read)
        os.close(self._write)
        self._write = -1

    def fileno(self) -> int:
        return self._read

    def put(self, item: Arrival) -> None:
        """Bring something, from any thread."""
        self._items.put(item)
        try:
            os.write(self._write, b"!")
        except OSError:  # full, so that it wakes anyway; or closed
            return

    def take(self) -> Sequence[Arrival]:
        """Everything that waits, the oldest first."""
        with suppress(BlockingIOError):
            os.read(self._read, 65536)
        found = []
        while not self._items.empty():
            found.append(self._items.get())
        return found
