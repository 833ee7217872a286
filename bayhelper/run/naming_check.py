"""What speaks against the address phrase and the technicians' names that the settings give."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.naming import address_warnings, name_warnings
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.understand.sample import canonical
from bayhelper.understand.tree import first_words


def naming_warnings(settings: Settings) -> tuple[str, ...]:
    """Against the words of the commands and of one another; nothing when nothing does."""
    offer = build_library().offer(replace(build_scope(settings), technicians=()))
    phrases = [phrase for _, phrase in canonical(offer)]
    begins = frozenset().union(*(first_words(branch.node)[0] for branch in offer.branches))
    with PocketSphinxEngine(Pronouncer()) as engine:
        return (
            *address_warnings(settings.address, phrases, engine.phones),
            *name_warnings(settings.technicians, settings.address, sorted(begins), engine.phones),
        )
