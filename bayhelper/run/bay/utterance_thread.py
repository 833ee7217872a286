"""The one crossing between a thread that waits for speech, and the loop that keeps time."""

from __future__ import annotations

import os
import queue
import threading
from collections.abc import Callable, Iterator, Sequence

from bayhelper.run.bay.door import Arrival, Door, caught_now
from bayhelper.terms.closing import Closing
from bayhelper.terms.utterance import Utterance


class UtteranceThread(Closing, Door):
    """Typed lines, or the utterances of raw sound, one a turn of the loop, as they come."""

    def __init__(self, utterances: Iterator[Utterance], steady_s: Callable[[], float]) -> None:
        """Waiting for the next one may block, so that is done in a thread of its own."""
        self._utterances = utterances
        self._steady_s = steady_s
        self._arrived: queue.SimpleQueue[Utterance | Exception | None] = queue.SimpleQueue()
        self._read, self._write = os.pipe()
        self._over = False
        threading.Thread(target=self._listen, name="source", daemon=True).start()

    def close(self) -> None:
        """The thread ends with the program: nobody can wake it from its waiting."""
        os.close(self._read)

    @property
    def over(self) -> bool:
        """Whether the last utterance was taken."""
        return self._over

    def fileno(self) -> int:
        return self._read

    def take(self) -> Sequence[Arrival]:
        """See Door; raises what went wrong while waiting for speech."""
        os.read(self._read, 1)
        item = self._arrived.get()
        if isinstance(item, Exception):
            raise item
        if item is None:
            self._over = True
            return ()
        return (caught_now(item, self._steady_s()),)

    def _listen(self) -> None:
        try:
            for utterance in self._utterances:
                self._put(utterance)
        except Exception as error:  # handed to the loop, which raises it
            self._put(error)
        self._put(None)
        os.close(self._write)

    def _put(self, item: Utterance | Exception | None) -> None:
        """One byte an item: when the pipe is full, this thread waits, and nothing is lost."""
        self._arrived.put(item)
        try:
            os.write(self._write, b"!")
        except OSError:  # the loop was left, and nobody takes anything any more
            return
