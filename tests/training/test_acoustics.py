"""What the network was trained on, and what it gives, are what Vosk works out from its file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

torch = pytest.importorskip("torch")
fbank = pytest.importorskip("kaldi_native_fbank")

from tests.hear.kaldi_reader import read_network  # noqa: E402
from training.acoustics import RATE_HZ, TRACTS, Mfcc, Network, Shape, folded  # noqa: E402
from training.kaldi_model import FEATURE_SETTINGS, write_model  # noqa: E402

PRIORS = np.full(40, 1 / 40)


@pytest.fixture(autouse=True)
def one_thread():
    before = torch.get_num_threads()
    torch.set_num_threads(1)
    yield
    torch.set_num_threads(before)


@pytest.fixture
def sound():
    """Two seconds and a bit, loud to faint, as large as 16-bit samples."""
    random = torch.Generator().manual_seed(1)
    noise = torch.randn(6, 2 * RATE_HZ + 533, generator=random)
    return (noise * 10 ** torch.linspace(3.7, 0.5, 6)[:, None]).round()


def by_kaldi(samples):
    """The features by another hand, under the settings that Vosk gets."""
    options = fbank.MfccOptions()
    options.frame_opts.samp_freq = RATE_HZ
    options.frame_opts.dither = FEATURE_SETTINGS["dither"]
    options.mel_opts.num_bins = FEATURE_SETTINGS["num-mel-bins"]
    options.mel_opts.low_freq = FEATURE_SETTINGS["low-freq"]
    options.mel_opts.high_freq = FEATURE_SETTINGS["high-freq"]
    options.num_ceps = FEATURE_SETTINGS["num-ceps"]
    options.use_energy = FEATURE_SETTINGS["use-energy"] == "true"
    computer = fbank.OnlineMfcc(options)
    computer.accept_waveform(RATE_HZ, samples.tolist())
    computer.input_finished()
    return np.stack([computer.get_frame(i) for i in range(computer.num_frames_ready)])


@pytest.fixture
def network(sound):
    """One whose normalisations have seen something."""
    torch.manual_seed(1)
    made = Network(Shape(width=48, narrow=16, reach=(3, 3, 6)))
    features = Mfcc()(sound)
    made.mean.copy_(features.mean((0, 1)))
    made.deviation.copy_(features.std((0, 1)))
    made.train()
    for _ in range(3):
        made(features)
    with torch.no_grad():
        for norm in [m for m in made.modules() if isinstance(m, torch.nn.BatchNorm1d)]:
            norm.weight.uniform_(0.5, 2)
            norm.bias.uniform_(-0.5, 0.5)
    return made.eval()


def test_features_are_those_of_kaldi(sound) -> None:
    for samples, features in zip(sound, Mfcc()(sound), strict=True):
        expected = by_kaldi(samples)
        assert features.shape == expected.shape
        assert np.abs(features.numpy() - expected).max() < 1e-3


def test_features_of_digital_silence_are_those_of_kaldi() -> None:
    silence = torch.zeros(1, RATE_HZ)
    assert np.abs(Mfcc()(silence)[0].numpy() - by_kaldi(silence[0])).max() < 1e-3


# The last output's frame is the last one, or the last but one or two.
@pytest.mark.parametrize("short", [0, 160, 320])
def test_the_file_says_what_the_network_says(network, sound, tmp_path: Path, short: int) -> None:
    sound = sound[:, : sound.shape[1] - short]
    with torch.no_grad():
        said = network(Mfcc()(sound)).numpy()
    write_model(tmp_path, folded(network), PRIORS, weight_bytes=4)
    read = read_network(tmp_path / "am" / "final.mdl")
    assert read.left == read.right == network.reach
    assert np.ptp(said) > 1
    for samples, expected in zip(sound, said, strict=True):
        found = read(by_kaldi(samples))
        assert found.shape == expected.shape
        assert np.abs(found - expected).max() < 1e-4


def test_probabilities_add_up(network, sound) -> None:
    with torch.no_grad():
        total = network(Mfcc()(sound)).exp().sum(-1)
    assert total.numpy() == pytest.approx(1, abs=1e-5)


@pytest.mark.parametrize("tract", [0, 3, 7, len(TRACTS) - 1])
def test_another_throat_has_its_formants_elsewhere(tract: int) -> None:
    seconds = torch.arange(RATE_HZ // 2) / RATE_HZ

    def voice(factor: float) -> Any:
        tones = [torch.sin(6.28319 * factor * hz * seconds) for hz in (500.0, 1500.0, 2500.0)]
        return 3000 * torch.stack(tones).sum(0)[None]

    mfcc = Mfcc()
    moved = mfcc.cepstra(mfcc.bands(voice(1.0), torch.tensor([tract])))
    plain, other = mfcc(voice(1.0)), mfcc(voice(TRACTS[tract]))
    assert (moved - other).abs().mean() < 0.35 * (plain - other).abs().mean()


def test_the_middle_throat_is_the_speakers_own(sound) -> None:
    own = torch.full((len(sound),), len(TRACTS) // 2)
    assert torch.equal(Mfcc().bands(sound, own), Mfcc().bands(sound))
