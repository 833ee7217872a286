"""Speech is spoilt by as much as is asked for, and the same each time."""

from __future__ import annotations

import pytest

torch = pytest.importorskip("torch")

from training.augment import LOUDEST_DB, QUIETEST_DB, Shop  # noqa: E402

LENGTH = 24_000
ROWS = 12


@pytest.fixture
def sound():
    """Tones that come and go, one to a row, with silence at the end."""
    seconds = torch.arange(LENGTH) / 16_000
    hz = 150 + 70 * torch.arange(ROWS)[:, None]
    tones = torch.sin(6.2832 * hz * seconds) * torch.sin(6.2832 * 2 * seconds).abs()
    tones[:, -4000:] = 0
    return 0.2 * tones


@pytest.fixture(autouse=True)
def one_thread():
    before = torch.get_num_threads()
    torch.set_num_threads(1)
    yield
    torch.set_num_threads(before)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_noise_is_as_far_below_the_speech_as_is_said(sound, seed) -> None:
    speech_rms = torch.linspace(0.01, 0.3, ROWS)[:, None]
    snr_db = torch.linspace(-3, 26, ROWS)[:, None]
    added = Shop("cpu", seed).noisy(sound, speech_rms, snr_db) - sound
    found = 20 * torch.log10(speech_rms / added.square().mean(1, keepdim=True).sqrt())
    assert found.numpy() == pytest.approx(snr_db.numpy(), abs=0.5)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("snr_db", [0.0, 6.0, 12.0])
def test_what_is_cleaned_has_less_noise_and_its_speech(sound, seed, snr_db) -> None:
    rms = sound.square().mean(1, keepdim=True).sqrt()
    cleaned = Shop("cpu", seed).cleaned(sound, rms, torch.full((ROWS, 1), snr_db))
    left_db = 20 * torch.log10((cleaned - sound).square().mean(1, keepdim=True).sqrt() / rms)
    assert left_db.mean() < -snr_db - 3
    speech_db = 10 * torch.log10(cleaned.square().mean(1) / sound.square().mean(1))
    assert speech_db.abs().mean() < 3


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_noise_differs_from_row_to_row(sound, seed) -> None:
    noise = Shop("cpu", seed).noise(sound)
    alike = torch.corrcoef(noise) - torch.eye(ROWS)
    assert alike.abs().max() < 0.9


def ways(shop, sound):
    yield shop.voiced(sound)
    yield shop.noisy(sound, torch.full((len(sound), 1), 0.1), torch.full((len(sound), 1), 5.0))
    yield shop.cleaned(sound, torch.full((len(sound), 1), 0.1), torch.full((len(sound), 1), 5.0))
    yield shop.levelled(sound)


@pytest.mark.parametrize("length", [LENGTH, 16_001])
def test_shape_is_kept_and_every_sample_is_a_number(sound, length) -> None:
    for spoilt in ways(Shop("cpu", 5), sound[:, :length]):
        assert spoilt.shape == (ROWS, length)
        assert spoilt.isfinite().all()


def test_silence_stays_finite() -> None:
    for spoilt in ways(Shop("cpu", 5), torch.zeros(ROWS, LENGTH)):
        assert spoilt.isfinite().all()


def test_the_same_seed_gives_the_same_sound_and_another_does_not(sound) -> None:
    first, again, other = (list(ways(Shop("cpu", seed), sound)) for seed in (7, 7, 8))
    for one, same, different in zip(first, again, other, strict=True):
        assert torch.equal(one, same)
        assert not torch.allclose(one, different)


def test_recordings_are_as_loud_as_they_may_be(sound) -> None:
    peak_db = 20 * torch.log10(Shop("cpu", 5).levelled(sound).abs().amax(1))
    assert (peak_db > QUIETEST_DB - 0.1).all()
    assert (peak_db < LOUDEST_DB + 0.1).all()
    assert peak_db.std() > 3
