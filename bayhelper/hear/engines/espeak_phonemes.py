"""A program of its own: words on standard input, their phonemes in IPA on standard output.

The eSpeak NG library (GPL-3) is loaded here and nowhere else in the ear, so that it never enters
the helper's own process. Run with `python -m bayhelper.hear.engines.espeak_phonemes`.
"""

from __future__ import annotations

import ctypes
import os
import sys

import espeakng_loader

UTF8, IPA = 1, 0x02
"""Modes of espeak_TextToPhonemes, as in eSpeak NG's speak_lib.h: of the text, of what it gives."""
RETRIEVAL = 1
"""AUDIO_OUTPUT_RETRIEVAL of the same file: no sound device is opened."""


def main() -> int:
    """One line of phonemes for each line of input."""
    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
    library = ctypes.CDLL(espeakng_loader.get_library_path())
    if library.espeak_Initialize(RETRIEVAL, 0, espeakng_loader.get_data_path().encode(), 0) < 0:
        return 1
    library.espeak_SetVoiceByName(b"en-us")
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    for line in sys.stdin:
        text = ctypes.c_char_p(line.strip().encode())
        phonemes = library.espeak_TextToPhonemes(ctypes.byref(text), UTF8, IPA)
        sys.stdout.write((phonemes or b"").decode() + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
