"""`bayhelper model get`: a Vosk model, fetched through the vosk package."""

from __future__ import annotations

import argparse

from bayhelper.hear.engines.vosk_library import DEFAULT_MODEL, download_model


def run(options: argparse.Namespace) -> int:
    """Fetch the model and say where it lies."""
    folder = download_model(options.name or DEFAULT_MODEL)
    print(f'The model is in {folder}. To use it, set engine = "vosk" and vosk_model to it.')
    return 0
