"""Reads a network out of am/final.mdl and works it out with numpy: all the code its writer has not.

It knows the components that Vosk is given and none else, and raises AssertionError at the first
byte that is not as Kaldi writes it.
"""

import re
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tests.known import known

NUMBERS = {("i", 4): "<i", ("f", 4): "<f", ("f", 8): "<d"}
COUNTS = ("<Count>", "<OderivRms>", "<OderivCount>", "<NumDimsSelfRepaired>", "<NumDimsProcessed>")


@dataclass(frozen=True)
class Network:
    nodes: dict[str, tuple[str, str]]  # name: (component, or '' at the output; descriptor)
    components: dict[str, tuple]
    left: int
    right: int
    priors: np.ndarray
    triples: list[tuple[int, int, int]]  # phone, state, pdf
    entries: list[list[list[int]]]  # of each topology, of each state: where it leads
    entry_of: np.ndarray

    def __call__(self, features, every=3):
        """Log-posteriors (frames / `every`, outputs); the first and last frames stand for others.

        The priors are not taken off.
        """
        before = np.repeat(features[:1], self.left, 0)
        after = np.repeat(features[-1:], self.right + every, 0)
        held = {"input": (np.concatenate([before, features, after]).astype(float), -self.left)}
        for name, (component, descriptor) in self.nodes.items():
            values, begin = _described(descriptor, held)
            held[name] = (_component(self.components.get(component), values), begin)
        values, begin = held["output"]
        return values[-begin : len(features) - begin : every]

    def transitions(self):
        """(phone, state, to, pdf) in the order of their ids."""
        return [
            (phone, state, to, pdf)
            for phone, state, pdf in self.triples
            for to in self.entries[self.entry_of[phone]][state]
        ]


def read_network(path: Path) -> Network:
    file = _File(path.read_bytes())
    triples, entries, entry_of = _transition_model(file)
    file.expect("<Nnet3>")
    nodes = {}
    for line in file.lines():
        kind, name, rest = known(re.fullmatch(r"(\S+) name=(\S+) (.*)", line)).groups()
        if kind != "input-node":
            component = re.search(r"component=(\S+)", rest)
            descriptor = known(re.search(r"input=(.*?)(?: objective=linear)?$", rest))[1]
            nodes[name] = (component[1] if component else "", descriptor)
    file.expect("<NumComponents>")
    components = {}
    for _ in range(file.number("i")):
        file.expect("<ComponentName>")
        name = file.token()
        components[name] = _read_component(file)
    file.expect("</Nnet3>", "<LeftContext>")
    left = file.number("i")
    file.expect("<RightContext>")
    right = file.number("i")
    file.expect("<Priors>")
    priors = file.vector()
    assert file.at == len(file.content)
    return Network(nodes, components, left, right, priors, triples, entries, entry_of)


def _transition_model(file):
    file.expect("<TransitionModel>", "<Topology>")
    phones, entry_of = file.integers(), file.integers()
    assert [p for p, entry in enumerate(entry_of) if entry >= 0] == list(phones)
    entries = []
    for _ in range(file.number("i")):
        states = []
        for _ in range(file.number("i")):
            file.number("i")
            ways = [(file.number("i"), file.number("f")) for _ in range(file.number("i"))]
            states.append([to for to, _ in ways])
        entries.append(states)
    file.expect("</Topology>", "<Triples>")
    triples = [tuple(file.number("i") for _ in range(3)) for _ in range(file.number("i"))]
    assert triples == sorted(triples)
    file.expect("</Triples>", "<LogProbs>")
    count = sum(len(entries[entry_of[phone]][state]) for phone, state, _ in triples)
    assert len(file.vector()) == 1 + count
    file.expect("</LogProbs>", "</TransitionModel>")
    return triples, entries, entry_of


def _read_component(file):
    kind = file.token().strip("<>")
    if kind == "FixedAffineComponent":
        file.expect("<LinearParams>")
        weight = file.matrix()
        file.expect("<BiasParams>")
        read: tuple[Any, ...] = (kind, weight, file.vector())
    elif kind == "NoOpComponent":
        file.expect("<Dim>")
        read = (kind, file.number("i"))
        file.expect("<BackpropScale>")
        file.number("f")
    else:
        assert kind in {"RectifiedLinearComponent", "LogSoftmaxComponent"}
        file.expect("<Dim>")
        read = (kind, file.number("i"))
        for name in ("<ValueAvg>", "<DerivAvg>", *COUNTS):
            file.expect(name)
            if name in {"<ValueAvg>", "<DerivAvg>", "<OderivRms>"}:
                assert len(file.vector()) == 0
            else:
                assert file.number("f") == 0
    file.expect(f"</{kind}>")
    return read


def _component(component, values):
    kind, *held = component or ("NoOpComponent", values.shape[1])
    if kind == "FixedAffineComponent":
        return values @ held[0].T.astype(float) + held[1]
    assert values.shape[1] == held[0]
    if kind == "RectifiedLinearComponent":
        return np.maximum(values, 0)
    if kind == "LogSoftmaxComponent":
        moved = values - values.max(1, keepdims=True)
        return moved - np.log(np.exp(moved).sum(1, keepdims=True))
    return values


def _described(descriptor, held):
    """What a descriptor gives, and the time of its first row."""
    call = re.fullmatch(r"(Append|Sum|Offset|Scale)\((.*)\)", descriptor)
    if call is None:
        return held[descriptor]
    arguments = _split(call[2])
    if call[1] == "Offset":
        values, begin = _described(arguments[0], held)
        return values, begin - int(arguments[1])
    if call[1] == "Scale":
        values, begin = _described(arguments[1], held)
        return values * float(arguments[0]), begin
    parts = [_described(argument, held) for argument in arguments]
    begin = max(begin for _, begin in parts)
    end = min(begin + len(values) for values, begin in parts)
    cut = [values[begin - at : end - at] for values, at in parts]
    return (np.concatenate(cut, 1) if call[1] == "Append" else sum(cut)), begin


def _split(arguments):
    found, depth = [""], 0
    for letter in arguments:
        depth += (letter == "(") - (letter == ")")
        if letter == "," and depth == 0:
            found.append("")
        else:
            found[-1] += letter
    return [argument.strip() for argument in found]


class _File:
    def __init__(self, content):
        assert content[:2] == b"\0B"
        self.content, self.at = content, 2

    def token(self):
        end = self.content.index(b" ", self.at)
        found, self.at = self.content[self.at : end].decode("ascii"), end + 1
        return found

    def expect(self, *tokens):
        for token in tokens:
            found = self.token()
            assert found == token, f"{found} where {token} belongs"

    def lines(self):
        end = self.content.index(b"\n\n", self.at)
        found, self.at = self.content[self.at : end].decode("ascii"), end + 2
        return found.strip().split("\n")

    def number(self, kind):
        size = self.content[self.at]
        (found,) = struct.unpack_from(NUMBERS[kind, size], self.content, self.at + 1)
        self.at += 1 + size
        return found

    def integers(self):
        assert self.content[self.at] == 4
        (count,) = struct.unpack_from("<i", self.content, self.at + 1)
        self.at += 5
        return self._array("<i4", count)

    def vector(self):
        self.expect("FV")
        return self._array("<f4", self.number("i"))

    def matrix(self):
        form = self.token()
        if form == "FM":
            rows, columns = self.number("i"), self.number("i")
            return self._array("<f4", rows * columns).reshape(rows, columns)
        assert form in {"CM", "CM2"}
        low, span, rows, columns = struct.unpack_from("<ffii", self.content, self.at)
        self.at += 16
        if form == "CM2":
            steps = self._array("<u2", rows * columns).reshape(rows, columns)
            return (low + span / 65535 * steps).astype(np.float32)
        marks = self._array("<u2", 4 * columns).reshape(columns, 4).astype(int)
        assert (np.diff(marks) > 0).all()
        where = self._array("u1", rows * columns).reshape(columns, rows)
        steps = np.empty((rows, columns))
        for column in range(columns):
            steps[:, column] = np.interp(where[column], (0, 64, 192, 255), marks[column])
        return (low + span / 65535 * steps).astype(np.float32)

    def _array(self, kind, count):
        found = np.frombuffer(self.content, kind, count, self.at)
        self.at += found.nbytes
        return found
