"""A network written as Vosk reads it: am/final.mdl, conf/ and graph/phones/word_boundary.int.

The form is Kaldi's own: a transition model, then a network of its third kind, all of it binary and
little-endian. The graph is made where the words are known, see bayhelper.hear.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayhelper.hear.engines.phones import (
    PDFS,
    PHONE_IDS,
    PHONE_TOPOLOGY,
    SILENCE,
    SILENCE_TOPOLOGY,
    TRANSITIONS,
    Topology,
    state_pdfs,
    word_boundaries,
)
from training.speakers import RecipeError

FEATURES = 40
"""Coefficients of a frame, see training/acoustics.py."""
FEATURE_SETTINGS: Mapping[str, object] = {
    "use-energy": "false",
    "num-mel-bins": FEATURES,
    "num-ceps": FEATURES,
    "low-freq": 20,
    "high-freq": 7600,
    "dither": 0,
    "allow-upsample": "true",
    "allow-downsample": "true",
}
"""conf/mfcc.conf; no dither, so that the same sound gives the same words."""
FRAMES_AT_ONCE = 120
"""A whole utterance is read at a time, so nobody waits; with Vosk's own 20 the network takes half
as long again."""
DECODING_SETTINGS: Mapping[str, object] = {
    "min-active": 200,
    "max-active": 3000,
    "beam": 13.0,
    "lattice-beam": 3.0,
    "acoustic-scale": 0.45,
    "frame-subsampling-factor": 3,
    "frames-per-chunk": FRAMES_AT_ONCE,
    "endpoint.silence-phones": SILENCE,
    "endpoint.rule2.min-trailing-silence": 0.5,
    "endpoint.rule3.min-trailing-silence": 1.0,
    "endpoint.rule4.min-trailing-silence": 2.0,
}
"""conf/model.conf. The beams and the scale were chosen; what was tried is not written down."""
LEVELS = 65535
"""Steps of a weight in two bytes."""
RELU = "RectifiedLinearComponent"
"""Kaldi's name for it."""
LOG_SOFTMAX = "LogSoftmaxComponent"
"""Kaldi's name for it."""
Array = NDArray[np.float32]
WeightBytes = Literal[1, 2, 4]
"""4 keeps weights as they are; 2 and 1 round them, see _Bytes."""


@dataclass(frozen=True, eq=False)
class Layer:
    """One layer: weight times the previous layer's output at `offsets`, plus bias.

    `offsets` are 10 ms frames; the weight is (out, in * len(offsets)), one offset's columns after
    another's. `relu` cuts that off at 0; `bypass` names a layer before this one, and what that
    gave, times the number beside it, is then added.
    """

    name: str
    offsets: tuple[int, ...]
    weight: Array
    bias: Array
    relu: bool = False
    bypass: tuple[str, float] | None = None

    @property
    def width(self) -> int:
        return len(self.weight)


def write_model(
    folder: Path,
    layers: Sequence[Layer],
    priors: ArrayLike,
    decoding: Mapping[str, object] = DECODING_SETTINGS,
    *,
    weight_bytes: WeightBytes = 1,
) -> None:
    """Write all of a model but its graph. Raises RecipeError when the layers do not fit together.

    The logarithm of `priors`, one to an output, is taken off what the network says.
    """
    written = {
        "am/final.mdl": network(layers, priors, weight_bytes=weight_bytes),
        "conf/mfcc.conf": _settings(FEATURE_SETTINGS),
        "conf/model.conf": _settings(decoding),
        "graph/phones/word_boundary.int": word_boundaries().encode("ascii"),
    }
    for name, content in written.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def network(layers: Sequence[Layer], priors: ArrayLike, *, weight_bytes: WeightBytes = 1) -> bytes:
    """The content of am/final.mdl; the last layer's output is turned into log-probabilities.

    With one byte to a weight the first layer still has two: what it is given differs most in size.
    Raises RecipeError when the layers do not fit together.
    """
    _check(layers)
    if weight_bytes not in (1, 2, 4):
        raise RecipeError(f"expected 1, 2 or 4 bytes to a weight, got {weight_bytes}")
    held = np.asarray(priors, np.float32)
    if held.shape != (PDFS,) or not held.min() > 0:
        raise RecipeError(f"expected {PDFS} priors above 0, got {held.shape}")
    parts = _Parts(weight_bytes)
    for layer in layers:
        parts.layer(layer)
    parts.output()
    left, right = _context(layers)
    file = _Bytes(b"\0B")
    _write_transitions(file)
    file.token("<Nnet3>")
    file += b"\n" + "\n".join([*parts.lines, "", ""]).encode("ascii")
    file.token("<NumComponents>").integer(len(parts.components))
    for name, content in parts.components:
        file.token("<ComponentName>").token(name)
        file += content
    file.token("</Nnet3>")
    file.token("<LeftContext>").integer(left).token("<RightContext>").integer(right)
    file.token("<Priors>").vector(held)
    return bytes(file)


class _Bytes(bytearray):
    """Kaldi's primitives, one after another."""

    def token(self, text: str) -> _Bytes:
        self += text.encode("ascii") + b" "
        return self

    def integer(self, value: int) -> _Bytes:
        self += struct.pack("<bi", 4, value)
        return self

    def real(self, value: float) -> _Bytes:
        self += struct.pack("<bf", 4, value)
        return self

    def integers(self, values: Sequence[int]) -> _Bytes:
        self += struct.pack(f"<bi{len(values)}i", 4, len(values), *values)
        return self

    def vector(self, values: ArrayLike) -> _Bytes:
        held = np.asarray(values, "<f4")
        self.token("FV").integer(len(held))
        self += held.tobytes()
        return self

    def matrix(self, values: Array) -> _Bytes:
        self.token("FM").integer(values.shape[0]).integer(values.shape[1])
        self += np.ascontiguousarray(values, "<f4").tobytes()
        return self

    def words_matrix(self, values: Array) -> _Bytes:
        """Two bytes a value: how far it is from the least to the greatest."""
        self.token("CM2")
        self += np.rint(self._steps(values)).astype("<u2").tobytes()
        return self

    def bytes_matrix(self, values: Array) -> _Bytes:
        """One byte a value, by columns: where it is between the quartiles of its column."""
        self.token("CM")
        steps = self._steps(values)
        marks = _quartiles(steps)
        self += marks.T.astype("<u2").tobytes()
        self += _between(steps, marks).T.astype("u1").tobytes()
        return self

    def _steps(self, values: Array) -> NDArray[np.float64]:
        """Writes least value, range and size; gives the values from 0 (least) to LEVELS."""
        low = np.float32(values.min())
        span = np.float32(values.max()) - low
        self += struct.pack("<ffii", low, span, *values.shape)
        steps = (values.astype(np.float64) - low) / (float(span) or 1.0) * LEVELS
        return np.clip(steps, 0, LEVELS)


def _quartiles(steps: NDArray[np.float64]) -> NDArray[np.float64]:
    """Least value, quartiles and greatest of each column, (4, columns): whole, and increasing."""
    count = len(steps)
    enough = (0, count // 4, count // 4 * 3, count - 1)
    rows = enough if count > 4 else np.minimum(range(4), count - 1)
    marks = np.rint(np.sort(steps, 0)[list(rows)])
    marks[0] = np.minimum(marks[0], LEVELS - 3)
    for at in range(1, 4):
        marks[at] = np.clip(marks[at], marks[at - 1] + 1, LEVELS - 3 + at)
    return marks


def _between(steps: NDArray[np.float64], marks: NDArray[np.float64]) -> NDArray[np.float64]:
    """0 is at the first of the marks, 64 at the second, 192 at the third, 255 at the last."""
    first, second, third, last = marks
    low = (steps - first) / (second - first) * 64
    middle = (steps - second) / (third - second) * 128 + 64
    high = (steps - third) / (last - third) * 63 + 192
    parts = np.where(steps < second, low, np.where(steps < third, middle, high))
    return np.asarray(np.clip(np.rint(parts), 0, 255))


class _Parts:
    """The network's nodes and components, which bear the same names."""

    def __init__(self, weight_bytes: WeightBytes) -> None:
        self.lines = [f"input-node name=input dim={FEATURES}"]
        self.components: list[tuple[str, bytes]] = []
        self._weight_bytes = weight_bytes
        self._output_of: dict[str, str] = {}
        self._last = "input"
        self._width = FEATURES

    def layer(self, layer: Layer) -> None:
        shifted = [f"Offset({self._last}, {at})" if at else self._last for at in layer.offsets]
        source = f"Append({', '.join(shifted)})" if len(shifted) > 1 else shifted[0]
        self._width = layer.width
        self._add(f"{layer.name}.affine", source, self._affine(layer))
        if layer.relu:
            self._add(f"{layer.name}.relu", self._last, _nonlinearity(RELU, layer.width))
        if layer.bypass is not None:
            other, scale = layer.bypass
            source = f"Sum({self._last}, Scale({scale}, {self._output_of[other]}))"
            self._add(f"{layer.name}.sum", source, _passing_on(layer.width))
        self._output_of[layer.name] = self._last

    def output(self) -> None:
        self._add("posteriors", self._last, _nonlinearity(LOG_SOFTMAX, self._width))
        self.lines.append(f"output-node name=output input={self._last} objective=linear")

    def _add(self, name: str, source: str, component: bytes) -> None:
        self.lines.append(f"component-node name={name} component={name} input={source}")
        self.components.append((name, component))
        self._last = name

    def _affine(self, layer: Layer) -> bytes:
        made = _Bytes().token("<FixedAffineComponent>").token("<LinearParams>")
        match self._weight_bytes:
            case 1 if self._output_of:
                made.bytes_matrix(layer.weight)
            case 1 | 2:
                made.words_matrix(layer.weight)
            case 4:
                made.matrix(layer.weight)
        made.token("<BiasParams>").vector(layer.bias)
        return bytes(made.token("</FixedAffineComponent>"))


def _nonlinearity(kind: str, width: int) -> bytes:
    """A component without weights; the rest of its fields are what training would have counted."""
    made = _Bytes().token(f"<{kind}>").token("<Dim>").integer(width)
    made.token("<ValueAvg>").vector([]).token("<DerivAvg>").vector([])
    made.token("<Count>").real(0).token("<OderivRms>").vector([])
    for counted in ("<OderivCount>", "<NumDimsSelfRepaired>", "<NumDimsProcessed>"):
        made.token(counted).real(0)
    return bytes(made.token(f"</{kind}>"))


def _passing_on(width: int) -> bytes:
    made = _Bytes().token("<NoOpComponent>").token("<Dim>").integer(width)
    return bytes(made.token("<BackpropScale>").real(1).token("</NoOpComponent>"))


def _write_transitions(file: _Bytes) -> None:
    entry_of = [-1] * (max(PHONE_IDS) + 1)
    for phone in PHONE_IDS:
        entry_of[phone] = 0 if phone == SILENCE else 1
    file.token("<TransitionModel>").token("<Topology>")
    file.integers(PHONE_IDS).integers(entry_of).integer(2)
    for entry in (SILENCE_TOPOLOGY, PHONE_TOPOLOGY):
        _write_entry(file, entry)
    states = [
        (phone, state, pdf) for phone in PHONE_IDS for state, pdf in enumerate(state_pdfs(phone))
    ]
    file.token("</Topology>").token("<Triples>").integer(len(states))
    for triple in states:
        for number in triple:
            file.integer(number)
    chances = [0.0, *(float(np.log(way.chance)) for way in TRANSITIONS)]
    file.token("</Triples>").token("<LogProbs>").vector(chances)
    file.token("</LogProbs>").token("</TransitionModel>")


def _write_entry(file: _Bytes, entry: Topology) -> None:
    file.integer(len(entry) + 1)
    for state, ways in enumerate(entry):
        file.integer(state).integer(len(ways))
        for way in ways:
            file.integer(way.to).real(way.chance)
    file.integer(-1).integer(0)


def _context(layers: Sequence[Layer]) -> tuple[int, int]:
    """How many frames before and after its own an output asks for."""
    reach: dict[str, tuple[int, int]] = {}
    left = right = 0
    for layer in layers:
        left, right = max(0, left - min(layer.offsets)), max(0, right + max(layer.offsets))
        if layer.bypass is not None:
            before, after = reach[layer.bypass[0]]
            left, right = max(left, before), max(right, after)
        reach[layer.name] = left, right
    return left, right


def _check(layers: Sequence[Layer]) -> None:
    width = FEATURES
    widths: dict[str, int] = {}
    for layer in layers:
        if layer.name in widths:
            raise RecipeError(f"expected a name to a layer, got {layer.name} twice")
        expected = (layer.width, width * len(layer.offsets))
        if layer.weight.shape != expected or layer.bias.shape != (layer.width,):
            raise RecipeError(
                f"layer {layer.name}: expected a weight of {expected} and as many biases, got "
                f"{layer.weight.shape} and {layer.bias.shape}"
            )
        if layer.bypass is not None and widths.get(layer.bypass[0]) != layer.width:
            raise RecipeError(
                f"layer {layer.name}: expected a bypass of a layer before it, as wide as it, got "
                f"{layer.bypass[0]}"
            )
        width = widths[layer.name] = layer.width
    if width != PDFS or not layers:
        raise RecipeError(f"expected {PDFS} outputs of the last layer, got {width}")


def _settings(settings: Mapping[str, object]) -> bytes:
    return "".join(f"--{name}={value}\n" for name, value in settings.items()).encode("ascii")
