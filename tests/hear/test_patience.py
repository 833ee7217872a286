"""An utterance ends early when it is a whole command, and only then; real recordings."""

import tomllib
from pathlib import Path

import pytest

from bayhelper.hear.accept import Ear
from bayhelper.hear.capture.endpoint import FRAME_S, RATE_HZ, EndPointer
from bayhelper.hear.capture.recording import read_sound, recording_utterances
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.patience import EarlyReader, is_whole
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.terms.utterance import Utterance
from bayhelper.understand.offer import offer_of_grammar

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
COMMANDS = tomllib.loads((FIXTURES / "commands.toml").read_text())["command"]
GRAMMAR = """#JSGF V1.0; grammar x; public <x> = workshop copy (
roof lapped all round | %s);"""


def recording(words):
    row = next(row for row in COMMANDS if row["words"] == words)
    return FIXTURES / row["file"]


LAPPED = recording("workshop copy roof lapped all round")


class Counting:
    """Counts how often the ear is asked."""

    def __init__(self, ear):
        self.ear, self.asked = ear, 0

    def prepare(self, offer):
        self.ear.prepare(offer)

    def listen(self, utterance, offer, follow_on):
        self.asked += 1
        return self.ear.listen(utterance, offer, follow_on)


@pytest.fixture(scope="module")
def ear():
    with PocketSphinxEngine(Pronouncer()) as engine:
        yield Ear(engine, processor_s)


def streamed(ear, offer, silence_s=2.0, early=True):
    """The recording and silence; utterances with the time at which each was closed."""
    judge = Counting(ear)
    reader = EarlyReader(judge)

    def complete(utterance):
        return is_whole(reader.listen(utterance, offer, False), offer)

    pointer = EndPointer(0.8, complete=complete if early else None)
    pcm = read_sound(LAPPED).pcm + bytes(2 * round(silence_s * RATE_HZ))
    found = []
    for at in range(0, len(pcm), 640):
        for utterance in pointer.feed(pcm[at : at + 640]):
            hearing = reader.listen(utterance, offer, False)
            found.append((utterance, (at + 640) / 2 / RATE_HZ, hearing))
    return found, judge.asked


def test_a_whole_command_ends_half_a_second_sooner_and_is_read_once(ear):
    offer = offer_of_grammar(GRAMMAR % "undo that", "x.jsgf")
    ((early, early_s, hearing),), asked = streamed(ear, offer)
    ((late, late_s, _),), _ = streamed(ear, offer, early=False)
    assert hearing.accepted and hearing.text == "workshop copy roof lapped all round"
    assert late_s - early_s == pytest.approx(0.8 - 0.3, abs=2 * FRAME_S)
    assert (early.start_s, early.end_s, early.sound) == (late.start_s, late.end_s, late.sound)
    assert asked == 1


def test_a_command_that_can_grow_is_waited_for_and_still_read_once(ear):
    offer = offer_of_grammar(GRAMMAR % "roof lapped all round by hand", "x.jsgf")
    ((_, growing_s, hearing),), asked = streamed(ear, offer)
    ((_, late_s, _),), _ = streamed(ear, offer, early=False)
    assert hearing.accepted
    assert growing_s == late_s
    assert asked == 1


def test_the_whole_offer_knows_which_commands_can_grow():
    offer = build_library().offer(build_scope(Settings()))
    assert offer.complete("workshop copy sign off the job".split())
    assert offer.complete("sign off the job".split())
    assert not offer.complete("workshop copy sign off the".split())
    assert not offer.complete("workshop copy surface temperature twenty".split())
    assert not offer.complete("workshop copy".split())
    assert not offer.complete(())


def test_patience_is_for_each_pause_anew():
    """The end-pointer asks about a pause once more when speech went on after it."""
    pcm = read_sound(LAPPED).pcm
    asked: list[Utterance] = []

    def complete(utterance):
        if not asked or asked[-1] is not utterance:
            asked.append(utterance)
        return False

    pointer = EndPointer(2.0, complete=complete)
    gap = bytes(2 * round(0.5 * RATE_HZ))
    found = pointer.feed(pcm + gap + pcm + gap * 6) + pointer.finish()
    assert len(found) == 1
    assert len(asked) >= 2
    assert asked[0].start_s == asked[-1].start_s == found[0].start_s
    assert asked[0].end_s < asked[-1].end_s
    assert asked[-1] == found[0]


def test_files_end_early_in_the_same_way(ear):
    offer = offer_of_grammar(GRAMMAR % "undo that", "x.jsgf")
    reader = EarlyReader(ear)

    def complete(utterance):
        return is_whole(reader.listen(utterance, offer, False), offer)

    early = list(recording_utterances(LAPPED, 0.8, complete=complete))
    assert early == list(recording_utterances(LAPPED, 0.8))
