"""A process of its own with a pipe to it, for what would hold up this one."""

from __future__ import annotations

from collections.abc import Callable
from multiprocessing import get_context

from bayhelper.terms.closing import Closing

CLOSING_S = 2.0
"""How long a process may take to end by itself before it is killed; our own choice."""


class Child(Closing):
    """A process of its own with a pipe to it; it has to end when the pipe does."""

    def __init__(
        self, serve: Callable[..., None], *arguments: object, daemon: bool = False
    ) -> None:
        """Start `serve(pipe, *arguments)`; all of them have to be importable by name there.

        A daemon is ended with this process at the latest, and may start no process itself.
        """
        context = get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self._process = context.Process(
            target=serve, args=(theirs, *arguments), name="ear", daemon=daemon
        )
        self._process.start()
        theirs.close()

    @property
    def pid(self) -> int:
        """The number by which the system knows it, 0 before it has one."""
        return self._process.pid or 0

    def send(self, message: object) -> bool:
        """Hand a message over; False when the process is gone."""
        try:
            self.pipe.send(message)
        except OSError:
            return False
        return True

    def close(self) -> None:
        """End the process, by force when it does not within CLOSING_S."""
        self.pipe.close()
        self._process.join(CLOSING_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()
