"""A program of its own: renders one sentence to a file with pyttsx3, and ends.

It is started ahead of time and waits for its sentence on standard input, because pyttsx3 blocks,
and on Linux hangs at a second utterance in the same process. The eSpeak NG library (GPL-3) that the
espeakng-loader wheel carries is loaded here and nowhere else; ESPEAK_DATA_PATH must be set before
that, or the library ends the process. Run with `python -m bayhelper.speak.voice_worker`.
"""

from __future__ import annotations

import ctypes
import json
import os
import sys
from pathlib import Path

from bayhelper.sound.wav import write_wav
from bayhelper.terms.sound import Sound

RATE_HZ = 22_050
"""The rate of eSpeak NG's own voices, which its driver writes down as it comes."""


def main() -> int:
    """Read {"text", "file", "rate_wpm", "voice"}; write the file; print which library served."""
    bundled = os.environ.get("BAYHELPER_SYSTEM_VOICE") != "1"
    if bundled:
        import espeakng_loader  # noqa: PLC0415  the library must not load in any other program

        os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
        ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
    import pyttsx3  # noqa: PLC0415  only now, with the library in place

    if sys.platform == "linux":
        from pyttsx3.drivers import _espeak  # noqa: PLC0415

        # In the driver's own, asynchronous mode a busy machine loses pieces of the sound. In this
        # one all sound has arrived when the loop ends, but nothing tells the driver to write it.
        _espeak.AUDIO_OUTPUT_RETRIEVAL = _espeak.AUDIO_OUTPUT_SYNCHRONOUS
    engine = pyttsx3.init(driverName="espeak" if sys.platform == "linux" else None)
    line = sys.stdin.readline()
    if not line.strip():
        return 0
    order = json.loads(line)
    faults: list[Exception] = []
    engine.connect("error", lambda name, exception: faults.append(exception))
    engine.setProperty("rate", order["rate_wpm"])
    if order["voice"]:
        engine.setProperty("voice", order["voice"])
    engine.save_to_file(order["text"], order["file"])
    engine.runAndWait()
    if faults:  # the driver itself would go on with another voice
        sys.stderr.write(f"{faults[0]}\n")
        sys.stderr.flush()
        os._exit(1)
    if not Path(order["file"]).exists():
        pcm = engine.proxy._driver._data_buffer
        write_wav(Path(order["file"]), Sound(bytes(pcm), RATE_HZ))
    sys.stdout.write(json.dumps({"library": _library()}) + "\n")
    sys.stdout.flush()
    os._exit(0)


def _library() -> str:
    """Path of the eSpeak library in use, where the system tells; '' elsewhere."""
    maps = Path("/proc/self/maps")
    if not maps.exists():
        return ""
    paths = {line.split()[-1] for line in maps.read_text().splitlines() if "espeak" in line}
    return next((p for p in sorted(paths) if ".so" in p or ".dylib" in p), "")


if __name__ == "__main__":
    sys.exit(main())
