"""Microphones through PortAudio: a thin callback, a bounded queue, and devices that come back."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bayhelper.hear.capture.recording import Resampler
from bayhelper.terms.errors import HearingError

BLOCK_S = 0.02
KEPT_BLOCKS = 500
"""Ten seconds of one microphone: more than any pause of the thread that reads."""
DEAD_S = 1.0
"""A stream that delivers nothing for so long is taken for dead."""
BACK_OFF_S = (0.5, 1.0, 2.0, 4.0, 5.0)
"""Waits between tries to open a device again; the last one goes on."""
CLOSING_S = 1.0
DRIFT_PER_S = 0.001
"""How fast the clock of a sound card may run away from the computer's."""
NO_PORTAUDIO = (
    "PortAudio is absent, so there is no microphone or loudspeaker. "
    "Install it (Debian: apt install libportaudio2), or work with --typed."
)


@dataclass(frozen=True)
class Wanted:
    """A microphone that the settings name."""

    fragment: str = ""
    """Part of the device's name; empty for the default input."""
    speaker: str = ""
    """Who wears it, when it is a headset."""


@dataclass(frozen=True)
class Block:
    """What one callback delivered."""

    microphone: int
    """Which of the wanted ones, from 0."""
    opening: int
    """How often that one had been opened; blocks of an earlier stream are of no use."""
    pcm: bytes
    """Signed 16-bit samples at the device's own rate."""
    arrived_s: float
    """When it was delivered, steady seconds."""
    counted: int
    """Frames of this stream up to its end, those of blocks that were dropped included."""
    gap: bool
    """Whether the device says that it lost sound before this."""


@dataclass(frozen=True)
class Heard:
    """16 kHz sound of one microphone."""

    microphone: int
    """Which of the wanted ones."""
    pcm: bytes
    """Signed 16-bit samples at 16 kHz."""
    end_s: float
    """When its last sample was caught, steady seconds."""


@dataclass(frozen=True)
class MicrophoneState:
    """A microphone was lost, or is there again."""

    name: str
    """As the settings name it."""
    alive: bool
    """Whether it delivers."""
    text: str
    """What happened, for people."""


@dataclass(eq=False)
class _Device:
    """One wanted microphone and its stream, if it has one."""

    wanted: Wanted
    stream: Any = None
    opening: int = 0
    rate_hz: int = 0
    counted: int = 0
    last_s: float = 0.0
    offset_s: float = float("inf")
    offset_at_s: float = 0.0
    tries: int = 0
    next_try_s: float = 0.0
    told: bool = False
    resampler: Resampler | None = None


def load_portaudio() -> Any:
    """The sounddevice module. Raises HearingError when PortAudio is absent."""
    try:
        import sounddevice  # noqa: PLC0415  needs PortAudio, which may be absent
    except (ImportError, OSError) as error:
        raise HearingError(NO_PORTAUDIO) from error
    return sounddevice


def sound_devices() -> tuple[str, ...]:
    """Names of all devices. Raises HearingError when there is no PortAudio or no sound system."""
    library = load_portaudio()
    try:
        return tuple(str(device["name"]) for device in library.query_devices())
    except library.PortAudioError as error:
        raise HearingError(f"PortAudio finds no sound system: {error}. Start it.") from error


class Microphones:
    """Every microphone that is wanted, read as one stream of blocks.

    Made to live in a process that decodes nothing: whatever holds Python's lock for long would
    hold up the callbacks.
    """

    def __init__(
        self,
        wanted: Sequence[Wanted],
        steady_s: Callable[[], float],
        library: Callable[[], Any] = load_portaudio,
    ) -> None:
        """Opens nothing yet; `poll` does. Raises HearingError when PortAudio is absent."""
        self._library = library()
        self._steady_s = steady_s
        self._devices = [_Device(one) for one in wanted or (Wanted(),)]
        self._blocks: queue.Queue[Block] = queue.Queue(KEPT_BLOCKS)
        self.dropped = 0
        """Blocks that the queue had no room for."""
        self.lost_by_device = 0
        """How often a device said that it lost sound."""

    def close(self) -> None:
        """Give the devices back."""
        for device in self._devices:
            self._shut(device)

    def poll(self) -> list[MicrophoneState]:
        """Open what is not open, notice what died; tells what changed."""
        told = []
        now_s = self._steady_s()
        for device in self._devices:
            if device.stream is not None and (reason := self._dead(device, now_s)):
                told += self._lose(device, reason, now_s)
            if device.stream is not None and device.told and device.counted:
                device.told, device.tries = False, 0
                told.append(self._state(device, True, f"{device.rate_hz} Hz"))
            if device.stream is None and now_s >= device.next_try_s:
                state = self._try_open(device, now_s)
                told += [state] if state is not None else []
        return told

    def read(self, timeout_s: float) -> Heard | None:
        """The next sound of any microphone, or None when none came in that time."""
        try:
            block = self._blocks.get(timeout=timeout_s)
        except queue.Empty:
            return None
        device = self._devices[block.microphone]
        if block.opening != device.opening or device.resampler is None:
            return None
        if block.gap:
            self.lost_by_device += 1
            device.offset_s = float("inf")
        samples = np.frombuffer(block.pcm, "<i2").astype(np.float32) / 32767
        return Heard(block.microphone, device.resampler.feed(samples), _end_s(device, block))

    def _dead(self, device: _Device, now_s: float) -> str:
        if not device.stream.active:
            return "the stream ended"
        if now_s - device.last_s > DEAD_S:
            return f"no sound for {DEAD_S:g} s"
        return ""

    def _lose(self, device: _Device, reason: str, now_s: float) -> list[MicrophoneState]:
        """Told once: a device that opens and stays silent was never back."""
        self._shut(device)
        device.next_try_s = now_s + BACK_OFF_S[min(device.tries, len(BACK_OFF_S) - 1)]
        device.tries += 1
        if device.told:
            return []
        device.told = True
        return [self._state(device, False, reason)]

    def _try_open(self, device: _Device, now_s: float) -> MicrophoneState | None:
        try:
            if device.tries and all(other.stream is None for other in self._devices):
                self._look_again()
            self._open(device)
        except HearingError as error:
            device.next_try_s = now_s + BACK_OFF_S[min(device.tries, len(BACK_OFF_S) - 1)]
            device.tries += 1
            if device.told:
                return None
            device.told = True
            return self._state(device, False, str(error))
        return None

    def _look_again(self) -> None:
        """PortAudio lists devices once; only starting anew shows one that was plugged in since."""
        try:
            self._library._terminate()
            self._library._initialize()
        except self._library.PortAudioError as error:
            raise HearingError(f"PortAudio finds no sound system: {error}. Start it.") from error

    def _open(self, device: _Device) -> None:
        library = self._library
        try:
            index, rate_hz = self._find(device.wanted.fragment)
            device.opening += 1
            device.rate_hz, device.counted = rate_hz, 0
            device.offset_s = float("inf")
            device.resampler = Resampler(rate_hz)
            stream = library.RawInputStream(
                samplerate=rate_hz,
                device=index,
                channels=1,
                dtype="int16",
                blocksize=int(rate_hz * BLOCK_S),
                callback=self._callback(device),
            )
            device.last_s = self._steady_s()
            stream.start()
            device.stream = stream
        except (library.PortAudioError, ValueError) as error:
            raise HearingError(
                f"The microphone '{device.wanted.fragment or 'default'}' cannot be opened: "
                f"{error}. Plug it in, or see 'bayhelper check' for the devices there are."
            ) from error

    def _find(self, fragment: str) -> tuple[int | None, int]:
        """Index (None for the default) and rate of the input whose name holds the fragment."""
        if not fragment:
            return None, int(self._library.query_devices(None, "input")["default_samplerate"])
        devices = list(self._library.query_devices())
        inputs = [(n, one) for n, one in enumerate(devices) if one["max_input_channels"] > 0]
        found = [(n, d) for n, d in inputs if fragment.lower() in str(d["name"]).lower()]
        exact = [(n, d) for n, d in found if fragment.lower() == str(d["name"]).lower()]
        if not found:
            names = ", ".join(str(one["name"]) for _, one in inputs) or "none"
            raise HearingError(
                f"No microphone has '{fragment}' in its name. There are: {names}. Plug it in, or "
                "correct the setting 'microphones'."
            )
        index, device = (exact or found)[0]
        return index, int(device["default_samplerate"])

    def _callback(self, device: _Device) -> Callable[..., None]:
        """Copies and counts, nothing else; it runs in PortAudio's own thread."""
        number, opening = self._devices.index(device), device.opening

        def take(data: Any, frames: int, time: Any, status: Any) -> None:
            now_s = self._steady_s()
            device.last_s = now_s
            device.counted += frames
            gap = bool(status and status.input_overflow)
            try:
                self._blocks.put_nowait(
                    Block(number, opening, bytes(data), now_s, device.counted, gap)
                )
            except queue.Full:
                self.dropped += 1

        return take

    def _shut(self, device: _Device) -> None:
        """Close a stream that may be broken, in a thread, because closing may hang then."""
        stream, device.stream = device.stream, None
        device.opening += 1
        if stream is None:
            return

        def abort() -> None:
            try:
                stream.abort()
                stream.close()
            except self._library.PortAudioError:
                return

        closing = threading.Thread(target=abort, name="closing", daemon=True)
        closing.start()
        closing.join(CLOSING_S)
        if closing.is_alive():
            raise HearingError(
                f"The microphone '{device.wanted.fragment or 'default'}' cannot be closed. The "
                "process that listens has to be started again."
            )

    def _state(self, device: _Device, alive: bool, text: str) -> MicrophoneState:
        return MicrophoneState(device.wanted.fragment or "default", alive, text)


def _end_s(device: _Device, block: Block) -> float:
    """When the block's last sample was caught: blocks arrive late by turns, never early.

    The least lag seen between samples counted and time passed is the clock of the device; it may
    be forgotten slowly, because two clocks never agree.
    """
    length_s = block.counted / device.rate_hz
    lag_s = block.arrived_s - length_s
    if device.offset_s == float("inf"):
        device.offset_s = lag_s
    else:
        drift_s = DRIFT_PER_S * max(0.0, block.arrived_s - device.offset_at_s)
        device.offset_s = min(lag_s, device.offset_s + drift_s)
    device.offset_at_s = block.arrived_s
    return device.offset_s + length_s
