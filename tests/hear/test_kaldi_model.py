"""What is written of a network must be what Vosk works out, number by number."""

import json
import struct

import numpy as np
import pytest

from bayhelper.hear.engines.fst_file import write_const_fst
from bayhelper.hear.engines.phones import (
    BLANK,
    PDFS,
    PHONES,
    SILENCE,
    TRANSITIONS,
    pdf,
    phone_id,
    phone_ids,
    transition_id,
)
from bayhelper.terms.errors import HearingError
from tests.hear.kaldi_reader import read_network
from training.kaldi_model import DECODING_SETTINGS, FEATURES, Layer, network, write_model
from training.speakers import RecipeError

RATE_HZ = 16000
WIDTH = 48
WIDE_OPEN = {
    **DECODING_SETTINGS,
    "beam": 10000.0,
    "lattice-beam": 10000.0,
    "max-active": 100000,
    "acoustic-scale": 1.0,
}
COMPARED_WITH = pdf("AA")
"""What the paths of the graph below read at every frame but one."""


def random_layers(rng, blocks=3):
    def layer(name, offsets, width, out, gain=1.0, **more):
        weight = rng.standard_normal((out, width * len(offsets))) * gain
        weight /= np.sqrt(width * len(offsets))
        bias = rng.standard_normal(out) * 0.1
        return Layer(name, offsets, weight.astype(np.float32), bias.astype(np.float32), **more)

    first = layer("first", (-2, -1, 0, 1, 2), FEATURES, WIDTH, 0.05, relu=True)
    layers = [first]
    for at in range(blocks):
        before = layers[-1].name
        layers.append(layer(f"narrow{at}", (-3, 0), WIDTH, 12))
        layers.append(layer(f"block{at}", (0, 3), 12, WIDTH, 2.0, relu=True, bypass=(before, 0.66)))
    return [*layers, layer("last", (0,), WIDTH, PDFS, 2.0)]


def random_priors(rng):
    return rng.dirichlet(np.full(PDFS, 2.0)) ** 0.7 + 1e-4


@pytest.fixture(scope="module")
def samples():
    """Half a second of something that changes all the while."""
    time = np.arange(RATE_HZ // 2) / RATE_HZ
    noise = np.random.default_rng(3).standard_normal(len(time))
    swept = np.sin(2 * np.pi * (300 + 2500 * time) * time) * (1 + np.sin(40 * time))
    return (4000 * swept + 800 * noise).astype(np.int16)


def features(samples):
    """The network's input by another hand than Vosk's, under the settings that are written."""
    fbank = pytest.importorskip("kaldi_native_fbank")
    options = fbank.MfccOptions()
    options.frame_opts.dither = 0.0
    options.frame_opts.samp_freq = RATE_HZ
    options.frame_opts.snip_edges = True
    options.mel_opts.num_bins = FEATURES
    options.mel_opts.low_freq, options.mel_opts.high_freq = 20, 7600
    options.num_ceps, options.use_energy = FEATURES, False
    computer = fbank.OnlineMfcc(options)
    computer.accept_waveform(RATE_HZ, samples.astype(np.float32).tolist())
    computer.input_finished()
    return np.stack([computer.get_frame(i) for i in range(computer.num_frames_ready)])


def self_loop(output):
    phone = SILENCE if output == BLANK else phone_id(PHONES[output - 1], "I")
    return transition_id(phone, 0, 0)


def write_probe(folder, frames):
    """A graph of one path to each frame and output: it reads that output at that frame alone."""
    (folder / "graph" / "phones" / "word_boundary.int").unlink()  # the paths are no words
    arcs, words, states = [], ["<eps>"], 1
    for frame in range(frames):
        for output in range(PDFS):
            words.append(f"{frame}_{output}")
            arcs.append((0, states, 0, len(words) - 1, 0.0))
            for at in range(frames):
                label = self_loop(output if at == frame else COMPARED_WITH)
                arcs.append((states + at, states + at + 1, label, 0, 0.0))
            states += frames + 1
    ends = dict.fromkeys(range(frames + 1, states, frames + 1), 0.0)
    write_const_fst(folder / "graph" / "HCLG.fst", arcs, ends)
    table = "".join(f"{word} {at}\n" for at, word in enumerate(words))
    (folder / "graph" / "words.txt").write_text(table, encoding="ascii")


def measured(folder, samples, frames):
    """The costs of all those paths, as Vosk tells them: (frames, outputs)."""
    vosk = pytest.importorskip("vosk")
    vosk.SetLogLevel(-1)
    recogniser = vosk.KaldiRecognizer(vosk.Model(str(folder)), RATE_HZ)
    recogniser.SetMaxAlternatives(frames * PDFS)
    recogniser.AcceptWaveform(samples.tobytes())
    costs = np.full((frames, PDFS), np.nan)
    for path in json.loads(recogniser.FinalResult())["alternatives"]:
        frame, output = map(int, path["text"].split("_"))
        costs[frame, output] = -path["confidence"]
    return costs


def calculated(said):
    """The costs of the same paths from scores (frames, outputs)."""
    compared = said[:, COMPARED_WITH]
    return -(compared.sum() + said - compared[:, None])


@pytest.mark.parametrize("weight_bytes", [1, 2, 4])
def test_vosk_works_out_what_numpy_does(tmp_path, samples, weight_bytes):
    rng = np.random.default_rng(7)
    layers, priors = random_layers(rng), random_priors(rng)
    write_model(tmp_path, layers, priors, WIDE_OPEN, weight_bytes=weight_bytes)
    network_read = read_network(tmp_path / "am" / "final.mdl")
    said = network_read(features(samples))
    assert np.ptp(said) > 4
    write_probe(tmp_path, len(said))
    expected = calculated(said - np.log(priors))
    costs = measured(tmp_path, samples, len(said))
    assert not np.isnan(costs).any()
    assert np.abs(costs - expected).max() < 1e-3


def furthest_off(weight, weight_bytes):
    """How far each weight may be from what is read back."""
    if weight_bytes == 4:
        return np.zeros(weight.shape)
    mark = np.ptp(weight) / 65535
    if weight_bytes == 2:
        return np.full(weight.shape, 0.51 * mark)
    count = len(weight)
    least, second, third, most = np.sort(weight, 0)[[0, count // 4, count // 4 * 3, -1]]
    below, above = (second - least) / 64, (most - third) / 63
    step = np.select([weight < second, weight > third], [below, above], (third - second) / 128)
    return 0.51 * step + mark


@pytest.mark.parametrize("weight_bytes", [1, 2, 4])
def test_the_file_holds_the_layers_and_the_numbering(tmp_path, weight_bytes):
    rng = np.random.default_rng(7)
    layers, priors = random_layers(rng), random_priors(rng)
    write_model(tmp_path, layers, priors, weight_bytes=weight_bytes)
    found = read_network(tmp_path / "am" / "final.mdl")
    for layer in layers:
        _, weight, bias = found.components[f"{layer.name}.affine"]
        off = np.abs(weight - layer.weight)
        assert (off <= furthest_off(layer.weight, weight_bytes)).all()
        assert (bias == layer.bias).all()
    assert (found.left, found.right) == (2 + 3 * 3, 2 + 3 * 3)
    assert found.priors == pytest.approx(priors)
    assert found.transitions() == [(t.phone, t.state, t.to, t.pdf) for t in TRANSITIONS]
    at = found.transitions().index((phone_id("K", "E"), 0, 1, pdf("K")))
    assert transition_id(phone_id("K", "E"), 0, 1) == at + 1


def test_the_file_is_as_large_as_its_weights_ask_for():
    rng = np.random.default_rng(7)
    layers, priors = random_layers(rng), random_priors(rng)
    one, two, four = (len(network(layers, priors, weight_bytes=size)) for size in (1, 2, 4))
    weights = sum(layer.weight.size for layer in layers)
    assert four - two == 2 * weights - 7 * len(layers)  # each begins with 20 bytes, not 13
    rest = layers[1:]  # the first keeps two bytes
    weights = sum(layer.weight.size for layer in rest)
    columns = sum(layer.weight.shape[1] for layer in rest)
    assert two - one == weights - 8 * columns + len(rest)  # 19 bytes, and 8 to a column


@pytest.mark.parametrize("weight_bytes", [1, 2, 4])
def test_weights_that_are_all_alike_stay_so(tmp_path, weight_bytes):
    layers = random_layers(np.random.default_rng(7))
    layers[-1] = Layer("last", (0,), np.full((PDFS, WIDTH), 0.25, np.float32), layers[-1].bias)
    write_model(tmp_path, layers, np.ones(PDFS), weight_bytes=weight_bytes)
    _, weight, _ = read_network(tmp_path / "am" / "final.mdl").components["last.affine"]
    assert (weight == 0.25).all()


def test_columns_of_few_or_equal_values_fit_into_a_byte_each(tmp_path):
    """Fewer rows than quartiles, a column all of the least value, one all of the greatest."""
    layers = random_layers(np.random.default_rng(7))
    few = np.array([[-1, 1, 0, 0.5], [-1, 1, 0, -0.5], [-1, 1, 0, 0.25]], np.float32)
    few = np.tile(few, WIDTH // 4)
    wide = Layer("wide", (0,), np.ones((WIDTH, 3), np.float32), np.zeros(WIDTH, np.float32))
    layers[-1:] = [Layer("few", (0,), few, np.zeros(3, np.float32)), wide, layers[-1]]
    write_model(tmp_path, layers, np.ones(PDFS), weight_bytes=1)
    _, weight, _ = read_network(tmp_path / "am" / "final.mdl").components["few.affine"]
    assert weight == pytest.approx(few, abs=3e-5)


def test_settings_and_word_boundaries_are_written(tmp_path):
    write_model(tmp_path, random_layers(np.random.default_rng(7)), np.ones(PDFS))
    assert "--dither=0\n" in (tmp_path / "conf" / "mfcc.conf").read_text()
    assert "--frame-subsampling-factor=3\n" in (tmp_path / "conf" / "model.conf").read_text()
    lines = (tmp_path / "graph" / "phones" / "word_boundary.int").read_text().splitlines()
    assert len(lines) == 1 + 4 * len(PHONES)
    assert lines[0] == "1 nonword"
    begins, ends = phone_ids(("B", "EY"))
    (alone,) = phone_ids(("OW",))
    assert {f"{begins} begin", f"{ends} end", f"{alone} singleton"} <= set(lines)
    assert phone_ids(("D", "AH", "L"))[1] == phone_id("AH", "I")


def test_layers_that_do_not_fit_are_refused():
    layers = random_layers(np.random.default_rng(7))
    first, last = layers[0], layers[-1]
    with pytest.raises(RecipeError, match="40 outputs"):
        network(layers[:-1], np.ones(PDFS))
    with pytest.raises(RecipeError, match="layer last: expected a weight of"):
        network([first, layers[1], last], np.ones(PDFS))
    with pytest.raises(RecipeError, match="priors above 0"):
        network(layers, np.zeros(PDFS))
    with pytest.raises(RecipeError, match="twice"):
        network([*layers, last], np.ones(PDFS))
    with pytest.raises(RecipeError, match="got 3"):
        network(layers, np.ones(PDFS), weight_bytes=3)  # type: ignore[arg-type]
    lost = Layer("last", (0,), last.weight, last.bias, bypass=("narrow0", 1.0))
    with pytest.raises(RecipeError, match="got narrow0"):
        network([*layers[:-1], lost], np.ones(PDFS))


def test_a_graph_is_laid_out_state_by_state(tmp_path):
    """Arcs in any order; sorted by what they take, with those that take or give nothing counted."""
    arcs = [(2, 0, 9, 0, 0.5), (0, 1, 7, 0, 1.0), (0, 2, 0, 4, 2.0), (0, 1, 3, 5, 0.25)]
    write_const_fst(tmp_path / "a.fst", arcs, {2: 1.5}, start=0)
    content = (tmp_path / "a.fst").read_bytes()
    kind = struct.pack("<ii5si8s", 0x7EB2FDD6, 5, b"const", 8, b"standard")
    assert content.startswith(kind)
    header = struct.unpack_from("<iiQqqq", content, len(kind))
    assert header == (2, 0, 0x10000001, 0, 3, 4)
    at = len(kind) + 40
    states = [struct.unpack_from("<fIIII", content, at + 20 * state) for state in range(3)]
    never = float("inf")
    assert states == [(never, 0, 3, 1, 1), (never, 3, 0, 0, 0), (1.5, 3, 1, 0, 1)]
    assert list(struct.iter_unpack("<iifi", content[at + 60 :])) == [
        (0, 4, 2.0, 2),
        (3, 5, 0.25, 1),
        (7, 0, 1.0, 1),
        (9, 0, 0.5, 0),
    ]


def test_a_graph_may_be_sorted_by_what_its_arcs_give(tmp_path):
    arcs = [(0, 1, 3, 5, 0.25), (0, 1, 7, 0, 1.0), (0, 1, 2, 5, 2.0)]
    write_const_fst(tmp_path / "a.fst", arcs, {1: 0.0}, sort="output")
    content = (tmp_path / "a.fst").read_bytes()
    at = 4 + 4 + len("const") + 4 + len("standard")
    assert struct.unpack_from("<iiQ", content, at)[2] == 0x40000001
    labels = [row[:2] for row in struct.iter_unpack("<iifi", content[-3 * 16 :])]
    assert labels == [(7, 0), (2, 5), (3, 5)]


def test_a_graph_of_nothing_and_one_that_cannot_be(tmp_path):
    write_const_fst(tmp_path / "empty.fst", [], {0: 0.0})
    with pytest.raises(HearingError, match="at least 0"):
        write_const_fst(tmp_path / "wrong.fst", [(0, 1, -1, 0, 0.0)], {1: 0.0})
