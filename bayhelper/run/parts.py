"""Builds the parts of the house from the settings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from bayhelper.decide.outcome import Desk
from bayhelper.hear.accept import Ear
from bayhelper.hear.capture.microphone import Wanted
from bayhelper.hear.ear_process import Parts
from bayhelper.hear.engines.exact_vosk_engine import ExactVoskEngine
from bayhelper.hear.engines.free_process import FreeProcess
from bayhelper.hear.engines.lexicon import LEXICON
from bayhelper.hear.engines.model_finder import find_model
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.engines.transcribe import EngineTranscriber
from bayhelper.hear.engines.vosk_engine import VoskEngine
from bayhelper.hear.patience import EarlyReader
from bayhelper.hear.typed import read_typed
from bayhelper.run.clock import processor_s
from bayhelper.run.resources import grammar_texts
from bayhelper.run.settings import Settings, cache_folder
from bayhelper.sheets.bodies import load_body
from bayhelper.sheets.plans import load_plan
from bayhelper.sheets.products import load_products
from bayhelper.sheets.reading import shipped_ids
from bayhelper.terms.ports import Engine, Offer
from bayhelper.terms.scope import Scope
from bayhelper.terms.utterance import Hearing, Utterance
from bayhelper.understand.offer import Library, plain_words


def build_library() -> Library:
    """The shipped grammars, read and ready to be asked what may be said."""
    return Library(grammar_texts())


def build_scope(settings: Settings) -> Scope:
    """What may be said before a job is open."""
    return Scope(
        body=load_body(settings.body),
        address=settings.address.lower(),
        dialect=settings.speaks(),
        steering=settings.drives(),
        technicians=settings.technicians,
    )


def build_desk(settings: Settings, next_job: str) -> Desk:
    """The sheets that a job may be opened with."""
    plans = {name: load_plan(name) for name in shipped_ids("plans")}
    bodies = {name: load_body(name) for name in shipped_ids("bodies")}
    plan, body = load_plan(settings.plan), load_body(settings.body)
    return Desk(
        next_job=next_job,
        plans=plans | {plan.id: plan},
        bodies=bodies | {body.id: body},
        products=load_products(),
        plan=plan.id,
        body=body.id,
        technicians=settings.technicians,
        dialect=settings.speaks(),
        steering=settings.drives(),
        car=settings.car,
        batch=settings.batch,
        air=settings.air(),
        air_stale_s=60 * settings.air_stale_min,
        chatter=settings.chatter,
    )


@contextmanager
def open_engine(settings: Settings) -> Iterator[Engine]:
    """The engine that the settings name."""
    engine = ENGINES[settings.engine](settings)
    try:
        yield engine
    finally:
        engine.close()


class TypedEar:
    """Reads typed lines where the ear would listen; see hear.patience.Judge."""

    def prepare(self, offer: Offer) -> None:
        """There is nothing to get ready."""

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """See hear.typed; a typed line needs no address."""
        return read_typed(utterance, offer, plain_words)


@contextmanager
def open_ear(settings: Settings) -> Iterator[EarlyReader]:
    """An ear with the engine that the settings name, which reads no utterance twice."""
    with open_engine(settings) as engine:
        if isinstance(engine, PocketSphinxEngine):
            with FreeProcess(_pocketsphinx, engine, processor_s) as free_reader:
                yield EarlyReader(Ear(engine, processor_s, free_reader=free_reader))
        else:
            with _pocketsphinx() as other:
                writer = EngineTranscriber(other).transcribe
                yield EarlyReader(Ear(engine, processor_s, writer=writer))


@contextmanager
def open_decoding(settings: Settings) -> Iterator[Parts[Scope]]:
    """What a process that decodes is made of; see hear.ear_process."""
    library = build_library()
    with open_ear(settings) as ear:
        yield Parts(ear, library.offer)


def wanted_microphones(settings: Settings) -> tuple[Wanted, ...]:
    """The microphones that the settings name, with those who wear them."""
    found = []
    for text in settings.microphones:
        who, equals, fragment = text.rpartition("=")
        found.append(Wanted(fragment.strip(), who.strip() if equals else ""))
    return tuple(found)


def _vosk(model: Path) -> Engine:
    """With graphs of our own where the model has a lexicon to make them from."""
    if (model / LEXICON).is_file():
        return ExactVoskEngine(model, cache_folder(), Pronouncer())
    return VoskEngine(model)


def _pocketsphinx() -> PocketSphinxEngine:
    """It loads nothing before it is asked to read."""
    return PocketSphinxEngine(Pronouncer())


ENGINES: dict[str, Callable[[Settings], Engine]] = {
    "vosk": lambda settings: _vosk(find_model(settings.vosk_model)),
    "pocketsphinx": lambda settings: _pocketsphinx(),
}
"""How each engine is made."""
