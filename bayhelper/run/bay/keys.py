"""Single keys of the terminal, as a push-button or a foot switch sends them."""

from __future__ import annotations

import os
import termios
import tty
from typing import Any, Self, TextIO

from bayhelper.terms.closing import Closing

NAMED = {"space": " ", "enter": "\n"}


class Keys(Closing):
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
        """Leave the terminal as it was."""
        if self._before is not None:
            termios.tcsetattr(self._stream, termios.TCSADRAIN, self._before)

    def fileno(self) -> int:
        """Readable when a key was pressed."""
        return self._stream.fileno()

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
