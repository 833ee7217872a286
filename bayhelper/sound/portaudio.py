"""PortAudio: the library, the devices it finds, and streams that break."""

from __future__ import annotations

import threading
from typing import Any, Literal

from bayhelper.terms.errors import SoundError

NO_PORTAUDIO = (
    "PortAudio is absent, so there is no microphone or loudspeaker. "
    "Install it (Debian: apt install libportaudio2), or work with --typed."
)
"""What to do about it; sounddevice carries the library on other systems than Linux."""
BACK_OFF_S = (0.5, 1.0, 2.0, 4.0, 5.0)
"""Waits between tries to open a device again; the last one goes on. Doubling is common practice;
the 5 s at the end are our own choice."""

Direction = Literal["input", "output"]
_CALLED = {"input": ("microphone", "microphones"), "output": ("loudspeaker", "speaker")}
"""What people call a device of that direction, and the setting that names it."""


def load_portaudio() -> Any:
    """The sounddevice module. Raises SoundError when PortAudio is absent."""
    try:
        import sounddevice  # noqa: PLC0415  needs PortAudio, which may be absent
    except (ImportError, OSError) as error:
        raise SoundError(NO_PORTAUDIO) from error
    return sounddevice


def sound_devices() -> tuple[str, ...]:
    """Names of all devices. Raises SoundError when there is no PortAudio or no sound system."""
    library = load_portaudio()
    try:
        return tuple(str(device["name"]) for device in library.query_devices())
    except library.PortAudioError as error:
        raise SoundError(f"PortAudio finds no sound system: {error}. Start it.") from error


def look_again(library: Any) -> None:
    """Let PortAudio list its devices anew: it lists them once, and one plugged in later is missing.

    Every stream must be closed. Raises SoundError when there is no sound system any more.
    """
    try:
        library._terminate()
        library._initialize()
    except library.PortAudioError as error:
        raise SoundError(f"PortAudio finds no sound system: {error}. Start it.") from error


def find_device(library: Any, fragment: str, direction: Direction) -> tuple[int | None, int]:
    """Index (None for the default) and rate in Hz of the device whose name holds the fragment.

    A device of exactly that name goes before others. Raises SoundError, which names the devices
    there are, when none has it.
    """
    if not fragment:
        found = library.query_devices(None, direction)
        return None, int(found["default_samplerate"])
    channels = f"max_{direction}_channels"
    there = [(n, one) for n, one in enumerate(library.query_devices()) if one[channels] > 0]
    near = [(n, one) for n, one in there if fragment.lower() in str(one["name"]).lower()]
    exact = [(n, one) for n, one in near if fragment.lower() == str(one["name"]).lower()]
    if not near:
        device, setting = _CALLED[direction]
        names = ", ".join(str(one["name"]) for _, one in there) or "none"
        raise SoundError(
            f"No {device} has '{fragment}' in its name. There are: {names}. Plug it in, or "
            f"correct the setting '{setting}'."
        )
    index, one = (exact or near)[0]
    return index, int(one["default_samplerate"])


def cannot_open(direction: Direction, fragment: str, error: Exception) -> SoundError:
    """The error to raise for a device that PortAudio refuses to open."""
    return SoundError(
        f"The {_CALLED[direction][0]} '{fragment or 'default'}' cannot be opened: {error}. Plug it "
        "in, or see 'bayhelper check' for the devices there are."
    )


def back_off_s(tries: int) -> float:
    """How long to wait after so many tries to open a device, seconds."""
    return BACK_OFF_S[min(tries, len(BACK_OFF_S) - 1)]


def shut(library: Any, stream: Any, within_s: float) -> bool:
    """Close a stream that may be broken, in a thread, because closing may hang then.

    Gives whether it was closed within that time.
    """

    def abort() -> None:
        try:
            stream.abort()
            stream.close()
        except library.PortAudioError:
            return

    closing = threading.Thread(target=abort, name="closing", daemon=True)
    closing.start()
    closing.join(within_s)
    return not closing.is_alive()
