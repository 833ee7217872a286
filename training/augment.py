"""What a shop does to a voice, on batches in PyTorch: pace, rooms, masks, microphones, noise.

Every noise is made by calculation, each time another; other voices come from the batch itself.
The kinds follow what machines do rather than any recording (common practice, no source).
"""

from __future__ import annotations

import math

import torch
from torch import Tensor
from torch.nn import functional

from training.sound_files import RATE_HZ

ROOM_S = 0.5
"""Length of a room's answer: chosen, as what follows is hardly heard."""
QUIETEST_DB, LOUDEST_DB = -45.0, -4.0
"""Peak of a recording."""
SUPPRESSOR_FFT, HOP = 320, 160
"""Samples: RNNoise's own 20 ms every 10 ms."""
SUPPRESSOR_HZ = (
    0.0, 200, 400, 600, 800, 1000, 1200, 1400, 1600, 2000, 2400, 2800, 3200, 4000, 4800, 5600,
    6800, 8000,
)  # fmt: skip
"""Middles of the bands that RNNoise shares with the Opus codec, below 8 kHz; from memory."""
MOST_LOST = 0.08
"""Of the frames with speech, how many a suppressor may have taken away."""
SPEECH_DB, GONE_DB = 25.0, 25.0
"""Speech is so far below the loudest frame at most; gone is what lies so far below what it would
be without the suppressor."""


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
        return sound + self._beside(sound, speech_rms, snr_db)

    def cleaned(self, sound: Tensor, speech_rms: Tensor, snr_db: Tensor) -> Tensor:
        """The same, with each band turned down where noise lies in it, as suppressors do.

        How much there is of each is known here, so the bands follow it as well as a suppressor
        could, with mistakes of its kind (after Valin, 'A hybrid DSP/deep learning approach', MMSP
        2018). A row that speech would be lost from keeps its noise.
        """
        noise = self._beside(sound, speech_rms, snr_db)
        window = torch.hann_window(SUPPRESSOR_FFT, device=self._device)
        voice, rest = (
            torch.stft(part, SUPPRESSOR_FFT, HOP, window=window, return_complex=True)
            for part in (sound, noise)
        )
        banks = self._suppressor_banks()
        in_bands, of_noise = (banks @ part.abs().square() + 1e-9 for part in (voice, rest))
        gain = self._gain(in_bands, of_noise)
        left = torch.istft(
            (voice + rest) * (banks.mT @ gain),
            SUPPRESSOR_FFT,
            HOP,
            window=window,
            length=sound.shape[1],
        )
        before, after = in_bands.sum(1), (in_bands * gain.square()).sum(1)
        spoken = before > before.amax(1, keepdim=True) * 10 ** (-SPEECH_DB / 10)
        gone = spoken & (after < before * 10 ** (-GONE_DB / 10))
        lost = gone.sum(1, keepdim=True) > MOST_LOST * spoken.sum(1, keepdim=True)
        return torch.where(lost, sound + noise, left)

    def _gain(self, voice: Tensor, noise: Tensor) -> Tensor:
        """Of every band, (batch, bands, frames)."""
        count, _, frames = voice.shape
        zeal = torch.exp(self.uniform(-1, 1.5, count, 1))[..., None]
        gain = (voice / (voice + zeal * noise)) ** self.uniform(0.5, 1, count, 1)[..., None]
        errors = functional.interpolate(
            self.normal(count, len(SUPPRESSOR_HZ), max(4, frames // 12)), frames, mode="linear"
        )
        gain = gain * torch.exp(-torch.relu(errors - 1) * self.uniform(0, 3, count, 1)[..., None])
        fading = gain
        for back in range(1, 6):
            late = functional.pad(gain, (back, 0))[..., :frames]
            fading = torch.maximum(fading, 0.6**back * late)
        least = 10 ** (self.uniform(-90, -25, count, 1)[..., None] / 20)
        return torch.maximum(fading, least)

    def _suppressor_banks(self) -> Tensor:
        """Overlapping triangles that sum to 1 at every frequency, (bands, frequencies)."""
        hz = torch.linspace(0, RATE_HZ / 2, SUPPRESSOR_FFT // 2 + 1, device=self._device)
        at = torch.tensor(SUPPRESSOR_HZ, device=self._device)
        place = torch.searchsorted(at, hz.contiguous(), right=True).clamp(1, len(at) - 1)
        part = (hz - at[place - 1]) / (at[place] - at[place - 1])
        banks = torch.zeros(len(at), len(hz), device=self._device)
        every = torch.arange(len(hz), device=self._device)
        banks[place - 1, every], banks[place, every] = 1 - part, part
        return banks

    def _beside(self, sound: Tensor, speech_rms: Tensor, snr_db: Tensor) -> Tensor:
        return self.noise(sound) * speech_rms * 10 ** (-snr_db / 20)

    def noise(self, others: Tensor) -> Tensor:
        """One or two kinds a row, RMS 1; `others` lends its voices."""
        count, length = others.shape
        noise = self._kinds(others)
        second = torch.nonzero(self.chance(0.35, count)[:, 0])[:, 0]
        if len(second):
            noise[second] += self.uniform(0.1, 1, len(second), 1) * self._kinds(others[second])
        besides = self.chance(0.35, count) * self.uniform(0.05, 0.8, count, 1)
        return _rms1(noise + besides * self._rush(count, length))

    def _kinds(self, others: Tensor) -> Tensor:
        """One kind a row, RMS 1."""
        count, length = others.shape
        kinds = self._rush, self._machine, self._strokes, self._clatter
        chosen = torch.randint(
            0, len(kinds) + 1, (count,), generator=self._random, device=self._device
        )
        noise = torch.zeros_like(others)
        for number, kind in enumerate(kinds):
            rows = torch.nonzero(chosen == number)[:, 0]
            if len(rows):
                noise[rows] = kind(len(rows), length)
        rows = torch.nonzero(chosen == len(kinds))[:, 0]
        if len(rows):
            noise[rows] = self._voices(others, len(rows))
        return _rms1(noise)

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

    def _voices(self, others: Tensor, count: int) -> Tensor:
        """One to four of the others in a row, from somewhere within what they say."""
        length = others.shape[1]
        total = torch.zeros(count, length, device=self._device)
        for number in range(4):
            order = torch.randperm(len(others), generator=self._random, device=self._device)
            turned = torch.roll(others[order[:count]], int(self.uniform(0, length, 1)), 1)
            wanted = self.chance(0.6, count) if number else 1.0
            total += _rms1(turned) * wanted * self.uniform(0.4, 1, count, 1)
        return self._in_room(total)


def _rms1(sound: Tensor) -> Tensor:
    return sound / (sound.square().mean(1, keepdim=True).sqrt() + 1e-9)


def _filtered(sound: Tensor, gain: Tensor, size: int) -> Tensor:
    """The beginning, as long as it was, of the sound through a filter given at its frequencies."""
    spectrum = torch.fft.rfft(sound, size)
    return torch.fft.irfft(spectrum * gain, size)[:, : sound.shape[1]]
