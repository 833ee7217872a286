"""The free reading made in another process: the same as here, and never missing."""

from functools import partial
from pathlib import Path

import pytest

from bayhelper.hear.accept import Ear
from bayhelper.hear.capture.recording import read_sound, whole_recording
from bayhelper.hear.engines.free_process import FreeProcess
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings

COMMANDS = Path(__file__).parents[2] / "audio_fixtures" / "commands"
FILES = [COMMANDS / f"{name}.flac" for name in ("pause_job_1", "buffed_1")]
make = partial(PocketSphinxEngine, Pronouncer())


@pytest.fixture(scope="module")
def engine():
    with make() as made:
        yield made


@pytest.fixture
def other(engine):
    with FreeProcess(make, engine, processor_s) as started:
        yield started


def test_it_reads_as_this_process_does_and_tells_what_it_took(engine, other):
    for file in FILES:
        sound = read_sound(file)
        decode, compute_s = other.begin(sound)()
        assert decode == engine.listen_freely(sound)
        assert compute_s > 0


def test_an_ear_hears_the_same_with_it_and_without_it(engine, other):
    offer = build_library().offer(build_scope(Settings()))
    alone, paired = Ear(engine, lambda: 0.0), Ear(engine, lambda: 0.0, free_reader=other)
    for file in FILES:
        apart = paired.listen(whole_recording(file), offer, False)
        here = alone.listen(whole_recording(file), offer, False)
        assert (apart.text, apart.evidence) == (here.text, here.evidence)
        assert here.compute_s == 0 < apart.compute_s


@pytest.mark.parametrize("begun", [False, True])
def test_what_it_cannot_read_any_more_is_read_here(engine, other, begun):
    sound = read_sound(FILES[0])
    reading = other.begin(sound) if begun else None
    other._child._process.kill()
    other._child._process.join()
    decode, _ = reading() if reading else other.begin(sound)()
    assert decode == engine.listen_freely(sound)


def test_closing_ends_the_process(engine):
    with FreeProcess(make, engine, processor_s) as other:
        assert other._child._process.is_alive()
    assert other._child._process.exitcode == 0
