"""`bayhelper hear`: what was understood in recordings, one line a file."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from bayhelper.decide.acts.catalogue import of_stage
from bayhelper.hear.capture.recording import recording_utterances, whole_recording
from bayhelper.hear.patience import EarlyReader, is_whole
from bayhelper.run.parts import build_library, build_scope, open_ear
from bayhelper.run.settings import Settings, data_folder, load_settings
from bayhelper.terms.choices import Stage
from bayhelper.terms.errors import RunError
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Hearing, Utterance
from bayhelper.understand.offer import offer_of_grammar


def run(options: argparse.Namespace) -> int:
    """Listen to every file, in the order given, each from the same starting state."""
    settings = load_settings(data_folder(options.data), engine=options.engine)
    for file in options.files:
        if not file.is_file():
            raise RunError(f"There is no file {file}. Give WAV or FLAC recordings.")
    offer = _offer(options.grammar, options.stage, settings)
    with open_ear(settings) as ear:
        for file in options.files:
            for utterance in _utterances(file, options.segments, settings, ear, offer):
                hearing = ear.listen(utterance, offer, follow_on=False)
                _print(file, hearing, options.json, options.segments)
    return 0


def _utterances(
    file: Path, segments: bool, settings: Settings, ear: EarlyReader, offer: Offer
) -> Iterator[Utterance]:
    def complete(utterance: Utterance) -> bool:
        return is_whole(ear.listen(utterance, offer, follow_on=False), offer)

    if segments:
        yield from recording_utterances(file, settings.patience_s, settings.suppressor, complete)
    else:
        yield whole_recording(file, settings.suppressor)


def _offer(grammar: Path | None, stage: Stage | None, settings: Settings) -> Offer:
    if grammar is not None:
        try:
            text = grammar.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise RunError(f"{grammar} cannot be read: {error}. Give a JSGF file.") from error
        return offer_of_grammar(text, str(grammar))
    library = build_library()
    scope = build_scope(settings)
    if stage is not None:
        scope = replace(scope, commands=of_stage(stage))
    return library.offer(scope)


def _print(file: Path, hearing: Hearing, as_json: bool, segments: bool) -> None:
    command = hearing.command
    fields: dict[str, Any] = {
        "file": str(file),
        "text": hearing.text,
        "command": command.name if command else None,
        "slots": dict(command.slots) if command else {},
        "accepted": hearing.accepted,
        "why": hearing.why,
        "confidence": round(hearing.confidence, 3),
        "engine": hearing.engine,
        "audio_s": round(hearing.audio_s, 3),
        "compute_s": round(hearing.compute_s, 3),
    }
    if segments:
        fields["start_s"] = round(hearing.utterance.start_s, 2)
        fields["end_s"] = round(hearing.utterance.end_s, 2)
    if as_json:
        print(json.dumps(fields), flush=True)
        return
    meaning = f"{command.name} {dict(command.slots) or ''}".strip() if command else "no command"
    verdict = "accepted" if hearing.accepted else f"refused: {hearing.why}"
    print(f"{file}: {hearing.text or '(nothing)'} -> {meaning} ({verdict})", flush=True)
