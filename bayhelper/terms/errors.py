"""The one error family of bayhelper; each folder has its branch under the common root."""

from __future__ import annotations


class BayhelperError(Exception):
    """Something outside the program was not as expected.

    The message says what was expected, what came, where, and what to do next.
    """


class PlainError(BayhelperError):
    """Plain data, such as TOML or JSON, are not of the form that was asked for."""


class SheetError(BayhelperError):
    """A car body, plan, product sheet or settings file is not usable."""


class ReckonError(BayhelperError):
    """A figure lies where the arithmetic means nothing."""


class GrammarError(BayhelperError):
    """A grammar file cannot be read, or names something that is not there."""


class SoundError(BayhelperError):
    """A sound file, a microphone or a loudspeaker cannot be used."""


class HearingError(BayhelperError):
    """A recording, engine or model cannot be used."""


class DecisionError(BayhelperError):
    """A command or event does not fit the job (a fault of the program or of the record)."""


class RecordError(BayhelperError):
    """The journal or a kept recording cannot be written or read back."""


class SpeechError(BayhelperError):
    """The voice, a tone or the player failed."""


class RunError(BayhelperError):
    """The command line, the settings or the wiring were given something unusable."""
