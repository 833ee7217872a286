"""The phones of the recogniser's own network, and how Kaldi numbers what it makes of them.

The network has one output for each of the 39 phones of ARPAbet and one for the blank of CTC. Kaldi
tells apart where in a word a phone stands (begins it, ends it, inside, or all of it), so there are
four phone ids to a phone, which share its output; silence is a phone of blanks. Whoever writes the
network's file and whoever writes a graph for it must number alike, so both ask here.
"""

from __future__ import annotations

from dataclasses import dataclass

PHONES = tuple(
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW "
    "V W Y Z ZH".split()
)
"""Those of the CMU Pronouncing Dictionary, without stress, in the order of the outputs."""
BLANK = 0
"""The network's output for the blank of CTC."""
PDFS = 1 + len(PHONES)
"""Outputs of the network."""
SILENCE = 1
"""Kaldi's id of the phone of blanks; 0 stands for no phone in its files."""
PLACES = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}
"""Where in a word a phone stands: the letter, and what Kaldi's word_boundary.int calls it."""


@dataclass(frozen=True, slots=True)
class Way:
    """From a state of a phone to another, itself or the last; decoding does not use `chance`."""

    to: int
    """State that it leads to."""
    chance: float
    """Written down, and not used in decoding."""


Topology = tuple[tuple[Way, ...], ...]
"""The ways out of each state that has an output; the last state comes after them and has none."""

SILENCE_TOPOLOGY: Topology = ((Way(0, 0.5), Way(1, 0.5)),)
"""Blanks, one or more; the chances are not used, see Way."""
PHONE_TOPOLOGY: Topology = (
    (Way(0, 0.4), Way(1, 0.3), Way(2, 0.3)),
    (Way(1, 0.5), Way(2, 0.5)),
)
"""The phone's output once or oftener, then blanks, or none."""


@dataclass(frozen=True, slots=True)
class Transition:
    """A numbered way: from `state` of a phone, where `pdf` is the output, to state `to`."""

    phone: int
    """Kaldi's id."""
    state: int
    """Where it begins."""
    to: int
    """Where it leads."""
    pdf: int
    """Output of the network that it takes."""
    chance: float
    """See Way."""


_PDF = {phone: at for at, phone in enumerate(PHONES, start=1)}
"""The network's output by phone, after the blank's."""
_PHONE_ID = {
    (phone, place): at
    for at, (phone, place) in enumerate(
        ((phone, place) for phone in PHONES for place in PLACES), start=SILENCE + 1
    )
}
"""Kaldi's id by phone and place, after that of silence."""
PHONE_IDS = (SILENCE, *_PHONE_ID.values())
"""All of them, in order from 1."""


def pdf(phone: str) -> int:
    """The network's output for a phone. Raises KeyError for what is no phone."""
    return _PDF[phone]


def phone_id(phone: str, place: str) -> int:
    """Kaldi's number for a phone at a place of PLACES. Raises KeyError for what is neither."""
    return _PHONE_ID[phone, place]


def phone_ids(phones: tuple[str, ...]) -> tuple[int, ...]:
    """Kaldi's numbers for the phones of one word. Raises KeyError for what is no phone."""
    if len(phones) < 2:
        return tuple(phone_id(phone, "S") for phone in phones)
    places = "B" + "I" * (len(phones) - 2) + "E"
    return tuple(map(phone_id, phones, places))


def topology(phone: int) -> Topology:
    """The states of a phone id."""
    return SILENCE_TOPOLOGY if phone == SILENCE else PHONE_TOPOLOGY


def state_pdfs(phone: int) -> tuple[int, ...]:
    """The output at each state of a phone id."""
    if phone == SILENCE:
        return (BLANK,)
    return (1 + (phone - SILENCE - 1) // len(PLACES), BLANK)


TRANSITIONS = tuple(
    Transition(phone, state, way.to, state_pdfs(phone)[state], way.chance)
    for phone in PHONE_IDS
    for state, ways in enumerate(topology(phone))
    for way in ways
)
"""In the order of their ids, which begin at 1."""
_TRANSITION_ID = {(way.phone, way.state, way.to): at for at, way in enumerate(TRANSITIONS, start=1)}
"""The same, by where they stand and lead."""


def transition_id(phone: int, state: int, to: int) -> int:
    """The id of the way between two states of a phone id. Raises KeyError when there is none."""
    return _TRANSITION_ID[phone, state, to]


def word_boundaries() -> str:
    """What Kaldi's word_boundary.int says: where in a word each phone id stands."""
    lines = [f"{SILENCE} nonword"]
    lines += [f"{at} {PLACES[place]}" for (_, place), at in _PHONE_ID.items()]
    return "\n".join(lines) + "\n"
