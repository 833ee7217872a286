"""A bay without hardware: a private PulseAudio server reached through PortAudio, ALSA and all."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes.util import find_library
from pathlib import Path

NEEDED = ("pulseaudio", "pactl", "paplay", "parec")
SINKS = {
    "bay_mic": "rate=16000 channels=1",
    "bay_mic_two": "rate=16000 channels=1",
    "bay_speaker": "rate=48000 channels=2",
}
ALSA = """<confdir:/usr/share/alsa/alsa.conf>
pcm.!default { type pulse }
ctl.!default { type pulse }
pcm.mic_one { type pulse device bay_mic.monitor hint { show on description one } }
pcm.mic_two { type pulse device bay_mic_two.monitor hint { show on description two } }
"""
PLUGINS = (
    "/usr/lib/x86_64-linux-gnu/alsa-lib/libasound_module_pcm_pulse.so",
    "/usr/lib/aarch64-linux-gnu/alsa-lib/libasound_module_pcm_pulse.so",
    "/usr/lib64/alsa-lib/libasound_module_pcm_pulse.so",
)


def missing() -> str:
    """What keeps the bay from being built; '' when nothing does."""
    lacking = [name for name in NEEDED if shutil.which(name) is None]
    if find_library("portaudio") is None:
        lacking.append("libportaudio2")
    if not any(Path(plugin).exists() for plugin in PLUGINS):
        lacking.append("libasound2-plugins")
    return ", ".join(lacking)


class VirtualBay:
    """A microphone to play into and a loudspeaker to record from."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.environment = {
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_SERVER": f"unix:{folder}/native",
            "ALSA_CONFIG_PATH": str(folder / "asound.conf"),
        }
        self._modules: dict[str, str] = {}
        self._server: subprocess.Popen[bytes] | None = None
        self._echo_db: float | None = None

    def start(self) -> None:
        folder = self.folder
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
        (folder / "asound.conf").write_text(
            ALSA.replace("<confdir:/usr/share/alsa/alsa.conf>", "</usr/share/alsa/alsa.conf>")
        )
        self._server = subprocess.Popen(
            ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
             "-L", f"module-native-protocol-unix socket={folder}/native"],
            env=os.environ | self.environment,
            stdout=subprocess.DEVNULL,
            stderr=(folder / "log").open("wb"),
        )  # fmt: skip
        end_s = time.monotonic() + 10
        while self._pactl("info", check=False).returncode:
            if time.monotonic() > end_s:
                raise RuntimeError((folder / "log").read_text()[-500:])
            time.sleep(0.1)
        for sink in SINKS:
            self.plug_in(sink)
        self._pactl("set-default-sink", "bay_speaker")

    def stop(self) -> None:
        if self._server is not None:
            self._server.terminate()
            self._server.wait(10)

    def plug_in(self, sink: str) -> None:
        """The device is there (again)."""
        done = self._pactl(
            "load-module", "module-null-sink", f"sink_name={sink}", *SINKS[sink].split()
        )
        self._modules[sink] = done.stdout.strip()
        if sink == "bay_mic":
            self._pactl("set-default-source", "bay_mic.monitor")
            if self._echo_db is not None:
                self.echo(self._echo_db)

    def pull_out(self, sink: str) -> None:
        """The device is gone."""
        self._pactl("unload-module", self._modules.pop(sink))

    def silence(self, dead: bool, sink: str = "bay_mic") -> None:
        """A microphone that delivers nothing any more, or does again.

        When a source is taken away instead, PulseAudio moves who listens to another one.
        """
        self._pactl("suspend-sink", sink, str(int(dead)))

    def echo(self, level_db: float) -> None:
        """Let the loudspeaker leak into the microphone, 60 ms late."""
        self._echo_db = level_db
        self._pactl("load-module", "module-loopback", "source=bay_speaker.monitor",
                    "sink=bay_mic", "latency_msec=60")  # fmt: skip
        end_s = time.monotonic() + 5
        while time.monotonic() < end_s:
            inputs = self._pactl("list", "short", "sink-inputs").stdout.split()
            if inputs:
                self._pactl("set-sink-input-volume", inputs[0], f"{level_db}dB")
                return
            time.sleep(0.1)
        raise RuntimeError("the echo did not come up")

    def play(self, file: Path, sink: str = "bay_mic") -> subprocess.Popen[bytes]:
        """Speak a recording into a microphone; returns at once."""
        return subprocess.Popen(
            ["paplay", "--latency-msec=20", f"--device={sink}", str(file)],
            env=os.environ | self.environment,
        )

    def record(self, file: Path, device: str = "bay_speaker.monitor") -> subprocess.Popen[bytes]:
        """Record 16 kHz mono until the process is terminated."""
        return subprocess.Popen(
            ["parec", f"--device={device}", "--rate=16000", "--channels=1", "--latency-msec=20",
             "--file-format=wav", str(file)],
            env=os.environ | self.environment,
        )  # fmt: skip

    def _pactl(self, *words: str, check: bool = True) -> subprocess.CompletedProcess[str]:
        done = subprocess.run(
            ["pactl", *words],
            env=os.environ | self.environment,
            capture_output=True,
            text=True,
            check=False,
        )
        if check and done.returncode:
            raise RuntimeError(f"pactl {' '.join(words)}: {done.stderr}")
        return done


@contextmanager
def virtual_bay(folder: Path, echo_db: float | None = None) -> Iterator[VirtualBay]:
    """A bay that is there for a while."""
    bay = VirtualBay(folder)
    try:
        bay.start()
        if echo_db is not None:
            bay.echo(echo_db)
        yield bay
    finally:
        bay.stop()
