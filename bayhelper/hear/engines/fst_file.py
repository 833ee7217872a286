"""Graphs in the binary form that OpenFst calls 'const' (version 2), as Vosk reads them."""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bayhelper.terms.errors import HearingError

ARC = np.dtype(
    [("source", "<i4"), ("target", "<i4"), ("input", "<i4"), ("output", "<i4"), ("cost", "<f4")]
)
"""One arc: from state to state, the label it takes (0: none), the one it gives, and its cost."""

_ARC_IN_FILE = np.dtype([("input", "<i4"), ("output", "<i4"), ("cost", "<f4"), ("target", "<i4")])
"""ConstFst's arc in OpenFst's const-fst.h and arc.h; its source is the state that it belongs to."""
_STATE_IN_FILE = np.dtype(
    [("final", "<f4"), ("first", "<u4"), ("arcs", "<u4"), ("no_input", "<u4"), ("no_output", "<u4")]
)
"""ConstState of const-fst.h: cost of ending, first arc, arcs, and how many take or give nothing."""
_MAGIC = 0x7EB2FDD6
"""kFstMagicNumber of OpenFst's fst.h, the first four bytes of a file."""
_VERSION = 2
"""The version of the 'const' form whose tables follow one another without padding."""
_EXPANDED = 0x1
"""kExpanded of OpenFst's properties.h: the count of states is known."""
_SORTED = {"input": 0x10000000, "output": 0x40000000}
"""kILabelSorted and kOLabelSorted of the same file."""


def write_const_fst(
    path: Path,
    arcs: NDArray[np.void] | Sequence[tuple[int, int, int, int, float]],
    finals: Mapping[int, float],
    start: int = 0,
    sort: Literal["input", "output"] = "input",
) -> None:
    """Write a graph; its arcs, of ARC or tuples of the same five, may come in any order.

    Those of a state are sorted by the label that `sort` names, then by the other. `finals` gives
    what it costs to end at a state. There are as many states as the highest number asks for. Raises
    HearingError for a state or label below 0.
    """
    table = np.asarray(arcs if len(arcs) else [], dtype=ARC)
    names = ("source", "target", "input", "output")
    if min([start, *finals, *(int(table[name].min(initial=0)) for name in names)]) < 0:
        raise HearingError(
            "Expected states and labels of at least 0, got one below: a graph is wrong."
        )
    then = "output" if sort == "input" else "input"
    table = table[np.lexsort((table[then], table[sort], table["source"]))]
    ends = (int(table[name].max(initial=0)) for name in ("source", "target"))
    states = _states(table, finals, 1 + max(start, *finals, *ends))
    written = np.empty(len(table), _ARC_IN_FILE)
    for name in _ARC_IN_FILE.fields or ():
        written[name] = table[name]
    header = struct.pack("<i", _MAGIC) + _text("const") + _text("standard")
    header += struct.pack("<iiQ", _VERSION, 0, _EXPANDED | _SORTED[sort])
    header += struct.pack("<qqq", start, len(states), len(written))
    with path.open("wb") as file:
        file.write(header)
        file.write(states.tobytes())
        file.write(written.tobytes())


def _states(table: NDArray[np.void], finals: Mapping[int, float], count: int) -> NDArray[np.void]:
    source = table["source"]
    states = np.zeros(count, _STATE_IN_FILE)
    states["arcs"] = np.bincount(source, minlength=count)
    states["first"] = np.cumsum(states["arcs"]) - states["arcs"]
    states["no_input"] = np.bincount(source[table["input"] == 0], minlength=count)
    states["no_output"] = np.bincount(source[table["output"] == 0], minlength=count)
    states["final"] = np.inf
    states["final"][list(finals)] = list(finals.values())
    return states


def _text(text: str) -> bytes:
    return struct.pack("<i", len(text)) + text.encode("ascii")
