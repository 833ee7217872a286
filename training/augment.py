"""What a shop does to a voice, on batches in PyTorch: pace, rooms, masks, microphones, noise.

Every noise is made by calculation, each time another; other voices come from the batch itself.
The kinds follow what machines do rather than any recording (common practice, no source).
"""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional

RATE_HZ = 16_000
ROOM_S = 0.5
QUIETEST_DB, LOUDEST_DB = -45.0, -4.0
"""Peak of a recording."""


class Shop:
    """Spoils batches of speech, (batch, samples) in -1 to 1."""

    def __init__(self, device: str, seed: int) -> None:
        self._device = device
        self._random = torch.Generator(device).manual_seed(seed)

    def uniform(self, low: float, high: float, *size: int) -> Tensor:
        """Evenly spread numbers."""
        spread = torch.rand(size, generator=self._random, device=self._device)
        return spread * (high - low) + low

    def normal(self, *size: int) -> Tensor:
        """Numbers of the normal distribution."""
        return torch.randn(size, generator=self._random, device=self._device)

    def chance(self, share: float, count: int) -> Tensor:
        """True for about that share, (count, 1)."""
        return self.uniform(0, 1, count, 1) < share

    def voiced(self, sound: Tensor) -> Tensor:
        """In a room, behind a mask or not, through some microphone."""
        return self._coloured(self._in_room(sound))

    def noisy(self, sound: Tensor, speech_rms: Tensor, snr_db: Tensor) -> Tensor:
        """With noise of some kind, so far below the speech: both (batch, 1)."""
        noise = self.noise(sound)
        return sound + noise * speech_rms * 10 ** (-snr_db / 20)

    def noise(self, others: Tensor) -> Tensor:
        """One kind a row, RMS 1; `others` lends its voices."""
        count, length = others.shape
        kinds = (
            self._rush(count, length),
            self._machine(count, length),
            self._strokes(count, length),
            self._clatter(count, length),
            self._voices(others),
        )
        chosen = torch.randint(
            0, len(kinds), (count, 1), generator=self._random, device=self._device
        )
        noise = sum(_rms1(kind) * (chosen == number) for number, kind in enumerate(kinds))
        besides = self.chance(0.35, count) * self.uniform(0.05, 0.8, count, 1)
        return _rms1(torch.as_tensor(noise) + besides * self._rush(count, length))

    def levelled(self, sound: Tensor) -> Tensor:
        """As loud as it happens to be recorded."""
        peak_db = self.uniform(QUIETEST_DB, LOUDEST_DB, len(sound), 1)
        return sound / (sound.abs().amax(1, keepdim=True) + 1e-6) * 10 ** (peak_db / 20)

    def _in_room(self, sound: Tensor) -> Tensor:
        count, length = sound.shape
        size = round(ROOM_S * RATE_HZ)
        seconds = torch.arange(size, device=self._device) / RATE_HZ
        decay_s = self.uniform(0.06, 0.7, count, 1)
        answer = self.normal(count, size) * torch.exp(-6.9 * seconds / decay_s)
        answer = answer * self.uniform(0, 0.22, count, 1) * self.chance(0.6, count)
        answer[:, :32] = 0
        answer[:, 0] = 1
        return _filtered(sound, torch.fft.rfft(answer, length + size), length + size)

    def _coloured(self, sound: Tensor) -> Tensor:
        count, length = sound.shape
        bins = length // 2 + 1
        corners = self.normal(count, 1, 10) * 0.55 * self.chance(0.8, count)[:, None]
        gain = functional.interpolate(corners, bins, mode="linear", align_corners=True)[:, 0]
        hz = torch.linspace(0, RATE_HZ / 2, bins, device=self._device)[None]
        masked = self.chance(0.25, count) * self.uniform(0, 1.6, count, 1)
        gain = gain - masked * torch.clamp(torch.log2(hz / 700 + 1e-3), 0, 1.6)
        low = torch.where(self.chance(0.2, count), self.uniform(3200, 7000, count, 1), 9000.0)
        high = torch.where(self.chance(0.3, count), self.uniform(60, 350, count, 1), -400.0)
        edges = torch.sigmoid((low - hz) / 100) * torch.sigmoid((hz - high) / 20)
        return _filtered(sound, torch.exp(gain) * edges, length)

    def _rush(self, count: int, length: int) -> Tensor:
        """Air, water, pads: noise that falls or rises with frequency, at times with a hump."""
        spectrum = torch.fft.rfft(self.normal(count, length))
        hz = torch.fft.rfftfreq(length, 1 / RATE_HZ, device=self._device).clamp(min=20)[None]
        slope = self.uniform(-2.2, 0.8, count, 1)
        gain = (hz / 1000) ** (slope / 2)
        centre, width = self.uniform(200, 6500, count, 1), self.uniform(150, 2200, count, 1)
        hump = torch.exp(-(((hz - centre) / width) ** 2))
        gain = gain * (1 + self.chance(0.5, count) * self.uniform(1, 8, count, 1) * hump)
        swell = 1 + self.chance(0.3, count) * 0.5 * torch.sin(self._turns(0.1, 3, count, length))
        return torch.fft.irfft(spectrum * gain, length) * swell

    def _turns(self, low_hz: float, high_hz: float, count: int, length: int) -> Tensor:
        """An angle that turns at some rate, (count, length)."""
        seconds = torch.arange(length, device=self._device)[None] / RATE_HZ
        hz = torch.exp(self.uniform(math.log(low_hz), math.log(high_hz), count, 1))
        return 2 * math.pi * (hz * seconds + self.uniform(0, 1, count, 1))

    def _machine(self, count: int, length: int) -> Tensor:
        """A motor with its overtones, slowing as it is pressed, and gears above it."""
        turns_hz = torch.exp(self.uniform(math.log(35), math.log(420), count, 1))
        points = max(4, length // 6000)
        load = functional.interpolate(self.normal(count, 1, points), length, mode="linear")[:, 0]
        phase = 2 * math.pi * torch.cumsum(turns_hz * (1 + 0.05 * load) / RATE_HZ, 1)
        tones = torch.zeros(count, length, device=self._device)
        falls = self.uniform(0.02, 0.16, count, 1)
        for order in (*range(1, 17), 20, 24, 28, 34):
            loud = self.uniform(0, 1, count, 1) ** 2 * torch.exp(-falls * order)
            heard = order * turns_hz < 7500
            tones += heard * loud * torch.sin(order * phase + self.uniform(0, 6, count, 1))
        beat = 1 + self.uniform(0, 0.5, count, 1) * torch.sin(self._turns(0.5, 14, count, length))
        rush = self.uniform(0.1, 1.6, count, 1) * _rms1(self._rush(count, length))
        return (_rms1(tones) + rush) * beat

    def _strokes(self, count: int, length: int) -> Tensor:
        """Thumps in a row over a rumble, as of a compressor."""
        power = self.uniform(2, 12, count, 1)
        stroke = torch.sin(self._turns(4, 30, count, length)).abs() ** power
        return _rms1(self._rush(count, length)) * (self.uniform(0.05, 0.6, count, 1) + stroke)

    def _clatter(self, count: int, length: int) -> Tensor:
        """Single knocks and scrapes."""
        hits = (self.uniform(0, 1, count, length) < 2.5e-4) * self.uniform(0.1, 1, count, length)
        tail = torch.arange(8000, device=self._device)[None]
        ring = torch.exp(-tail / self.uniform(40, 500, count, 1))
        size = length + 8000
        body = _filtered(hits, torch.fft.rfft(ring, size), size)
        return self._rush(count, length) * (body + self.uniform(0.01, 0.1, count, 1))

    def _voices(self, others: Tensor) -> Tensor:
        """One to four of the others, from somewhere within what they say."""
        count, length = others.shape
        total = torch.zeros_like(others)
        for number in range(4):
            order = torch.randperm(count, generator=self._random, device=self._device)
            turned = torch.roll(others[order], int(self.uniform(0, length, 1)), 1)
            wanted = self.chance(0.6, count) if number else 1.0
            total += _rms1(turned) * wanted * self.uniform(0.4, 1, count, 1)
        return total


def _rms1(sound: Tensor) -> Tensor:
    return sound / (sound.square().mean(1, keepdim=True).sqrt() + 1e-9)


def _filtered(sound: Tensor, gain: Tensor, size: int) -> Tensor:
    """The beginning, as long as it was, of the sound through a filter given at its frequencies."""
    spectrum = torch.fft.rfft(sound, size)
    return torch.fft.irfft(spectrum * gain, size)[:, : sound.shape[1]]
