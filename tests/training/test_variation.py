"""What training varies in a recording, and that the words stay in it."""

from __future__ import annotations

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from training.spoiling import lost  # noqa: E402
from training.variation import (  # noqa: E402
    BANDS,
    CONTRAST,
    LONGEST_SPAN,
    SPANS,
    SWAY,
    WIDEST_BAND,
    contrasted,
    hidden,
    unevenly,
    varied,
)


@pytest.fixture
def bands():
    return torch.randn((16, 300, 40), generator=torch.Generator().manual_seed(2))


def test_rhythm_sways_and_nothing_comes_before_what_it_followed() -> None:
    frames = 700
    clock = torch.arange(frames).float()[None, :, None].expand(8, frames, 3)
    swayed = unevenly(clock, np.random.default_rng(3))
    assert swayed.shape == clock.shape
    steps = swayed[:, 100:-100].diff(dim=1)
    assert steps.min() > 1 - SWAY - 0.01
    assert steps.max() < 1 + SWAY + 0.01
    assert (steps.std(1) > 0.001).all()
    assert (swayed - clock).abs().max() < SWAY * 250 / 6.28 + 1


def test_what_is_hidden_is_the_mean_and_no_more_than_may_be(bands) -> None:
    left = hidden(bands, np.random.default_rng(4))
    gone = left != bands
    assert torch.equal(left[gone], bands.mean(1, keepdim=True).expand_as(bands)[gone])
    spans, stripes = gone.all(2).sum(1), gone.all(1).sum(1)
    assert 0 < spans.max() <= SPANS * (LONGEST_SPAN - 1)
    assert 0 < stripes.max() <= BANDS * (WIDEST_BAND - 1)
    assert torch.equal(gone, gone.all(2)[:, :, None] | gone.all(1)[:, None])


def test_contrast_keeps_the_mean_of_every_band(bands) -> None:
    left = contrasted(bands, np.random.default_rng(4))
    assert left.mean(1).numpy() == pytest.approx(bands.mean(1).numpy(), abs=1e-5)
    spread = left.std(1) / bands.std(1)
    assert spread.std(1).max() < 1e-4
    assert CONTRAST[0] < spread.min() < 0.95
    assert 1.05 < spread.max() < CONTRAST[1]


def test_the_same_chance_varies_alike(bands) -> None:
    first, again, other = (varied(bands, np.random.default_rng(seed)) for seed in (7, 7, 8))
    assert torch.equal(first, again)
    assert not torch.allclose(first, other)


@pytest.mark.parametrize(("gone_s", "share"), [(0.0, 0.0), (0.2, 0.2), (0.5, 0.5)])
def test_words_that_were_taken_away_are_counted(gone_s: float, share: float) -> None:
    voice = 3000 * np.random.default_rng(1).standard_normal(16_000)
    left = 0.3 * voice
    left[: round(16_000 * gone_s)] *= 0.01
    assert lost(voice, left) == pytest.approx(share, abs=0.03)


def test_pauses_cannot_be_lost() -> None:
    voice = 3000 * np.random.default_rng(1).standard_normal(16_000)
    voice[4000:12_000] *= 0.001
    left = voice.copy()
    left[4000:12_000] = 0
    assert lost(voice, left) == 0
