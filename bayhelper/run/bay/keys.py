"""Single keys of the terminal, as a push-button or a foot switch sends them."""

from __future__ import annotations

import os
import termios
import tty
from collections.abc import Sequence
from contextlib import suppress
from typing import Any, Self, TextIO

from bayhelper.run.bay.door import Arrival, Door, Pressed
from bayhelper.terms.closing import Closing

NAMED = {"space": " ", "enter": "\n"}
"""Keys that have no sign of their own to be written into the settings."""


class Keys(Closing, Door):
    """Reads keys as they are pressed; Ctrl-C goes on ending the program."""

    def __init__(self, stream: TextIO, button: str) -> None:
        """`button` is the key that counts: a character, a name of NAMED, or empty for any."""
        self._stream = stream
        self._button = NAMED.get(button, button)
        self._before: list[Any] | None = None
        self.open = True
        """False once the terminal is gone."""

    def __enter__(self) -> Self:
        if self._stream.isatty():
            self._before = termios.tcgetattr(self._stream)
            tty.setcbreak(self._stream)
        return self

    def close(self) -> None:
        """Leave the terminal as it was, if it is still there."""
        if self._before is not None:
            with suppress(termios.error):
                termios.tcsetattr(self._stream, termios.TCSADRAIN, self._before)

    @property
    def over(self) -> bool:
        """Whether the terminal is gone."""
        return not self.open

    def fileno(self) -> int:
        return self._stream.fileno()

    def take(self) -> Sequence[Arrival]:
        return (Pressed(),) if self.pressed() else ()

    def pressed(self) -> bool:
        """Whether the button was among the keys pressed; keys held down count once."""
        try:
            typed = os.read(self.fileno(), 1024)
        except OSError:
            typed = b""
        if not typed:
            self.open = False
            return False
        return not self._button or self._button.encode() in typed.replace(b"\r", b"\n")
