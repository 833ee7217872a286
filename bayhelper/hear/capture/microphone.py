"""Microphones through PortAudio: a thin callback, a bounded queue, and devices that come back."""

from __future__ import annotations

import queue
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from bayhelper.hear.capture.device_clock import DeviceClock
from bayhelper.hear.capture.endpoint import RATE_HZ
from bayhelper.sound.portaudio import (
    back_off_s,
    cannot_open,
    find_device,
    load_portaudio,
    look_again,
    shut,
)
from bayhelper.sound.resampling import Resampler
from bayhelper.sound.samples import PEAK, floats, pcm16
from bayhelper.terms.errors import SoundError

BLOCK_S = 0.02
"""Length of a callback's block; common practice, no source."""
KEPT_BLOCKS = 500
"""Ten seconds of one microphone: more than any pause of the thread that reads."""
DEAD_S = 1.0
"""A stream that delivers nothing for so long is taken for dead: 50 blocks; our own choice."""
CLOSING_S = 1.0
"""How long closing a stream may take before the process is given up; our own choice."""


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
    tries: int = 0
    next_try_s: float = 0.0
    told: bool = False
    resampler: Resampler | None = None
    clock: DeviceClock = field(default_factory=DeviceClock)


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
        """Opens nothing yet; `poll` does. Raises SoundError when PortAudio is absent."""
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
            device.clock.forget()
        samples = device.resampler.feed(floats(block.pcm, PEAK))
        end_s = device.clock.end_s(block.counted / device.rate_hz, block.arrived_s)
        return Heard(block.microphone, pcm16(samples, PEAK), end_s)

    def _dead(self, device: _Device, now_s: float) -> str:
        if not device.stream.active:
            return "the stream ended"
        if now_s - device.last_s > DEAD_S:
            return f"no sound for {DEAD_S:g} s"
        return ""

    def _lose(self, device: _Device, reason: str, now_s: float) -> list[MicrophoneState]:
        """Told once: a device that opens and stays silent was never back."""
        self._shut(device)
        device.next_try_s = now_s + back_off_s(device.tries)
        device.tries += 1
        if device.told:
            return []
        device.told = True
        return [self._state(device, False, reason)]

    def _try_open(self, device: _Device, now_s: float) -> MicrophoneState | None:
        try:
            if device.tries and all(other.stream is None for other in self._devices):
                look_again(self._library)
            self._open(device)
        except SoundError as error:
            device.next_try_s = now_s + back_off_s(device.tries)
            device.tries += 1
            if device.told:
                return None
            device.told = True
            return self._state(device, False, str(error))
        return None

    def _open(self, device: _Device) -> None:
        library = self._library
        try:
            index, rate_hz = find_device(library, device.wanted.fragment, "input")
            device.opening += 1
            device.rate_hz, device.counted = rate_hz, 0
            device.clock.forget()
            device.resampler = Resampler(rate_hz, RATE_HZ)
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
            raise cannot_open("input", device.wanted.fragment, error) from error

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
        """Raises SoundError for a stream that hangs: only the end of the process frees it."""
        stream, device.stream = device.stream, None
        device.opening += 1
        if stream is not None and not shut(self._library, stream, CLOSING_S):
            raise SoundError(
                f"The microphone '{device.wanted.fragment or 'default'}' cannot be closed. The "
                "process that listens has to be started again."
            )

    def _state(self, device: _Device, alive: bool, text: str) -> MicrophoneState:
        return MicrophoneState(device.wanted.fragment or "default", alive, text)
