"""Where should the ear draw its line? Commands against hours of other talk, at every margin.

    python -m benchmarks.rejection COMMANDS NOISE TALK [TALK ...] [--every N] [--follow-on]

COMMANDS is a folder of recordings with an index.jsonl (file, command, slots, half); NOISE one of
background sounds, mixed into a second hearing of each command 10 dB below the speech; each TALK is
a folder of speech that is not for the helper. Everything goes through the end-pointer, as in the
bay. Lines are chosen on the tuning half and reported on the other, which shares no voice with it.
With --follow-on the commands come without the address, and all talk counts as heard within the
window after a reply. Writes benchmarks/results/rejection.md or follow_on.md.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from bayhelper.hear.accept import Ear
from bayhelper.hear.capture.endpoint import RATE_HZ, EndPointer
from bayhelper.hear.capture.recording import read_sound, recording_length_s, recording_utterances
from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.operating_point import POINTS, Lines
from bayhelper.run.clock import processor_s
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Hearing, Utterance
from bayhelper.understand.offer import plain_words
from benchmarks.poisson import upper_95_per_hour
from benchmarks.talk import HALVES, talk_recordings
from training.noise import mix
from training.sound_files import Samples

Hours = dict[tuple[str, str], float]
"""Of speech, by half and kind of talk."""
RESULTS = Path(__file__).parent / "results"
"""Folder of the tables that are kept."""
MARGINS = (-1000.0, -24.0, -16.0, -12.0, -10.0, -8.0, -6.0, -4.0, 0.0)
"""Lines that are tried: from everything taken to nothing that free speech fits as well."""
ANYTHING = Lines(-1000.0, -1000.0, -1000.0)
"""Lines that everything passes, so that every margin is seen."""
POINT = POINTS["pocketsphinx"]
"""The lines that ship for this engine."""
NO_LINE = replace(POINT, addressed=ANYTHING, follow_on=ANYTHING)
"""The same without a line."""
SNR_DB = 10.0
"""Of the noisy recordings: a shop in which one still need not shout, chosen."""
SILENCE = b"\0" * 2 * RATE_HZ
"""A second of it, before and behind each recording."""


@dataclass(frozen=True)
class Row:
    """What one recording of a command, or one utterance of talk, came to."""

    kind: str
    """'clean' or 'noisy' for commands, else the kind of talk."""
    half: str
    right: bool
    """Whether command and every slot are those that were said."""
    margin: float
    fits: bool
    """Whether all but the margin would let it pass."""
    text: str
    meant: str = ""
    """What was said, where it was a command."""

    def taken(self, margin: float) -> bool:
        """Whether it is acted on with the line drawn there."""
        return self.fits and self.margin >= margin


@dataclass(frozen=True)
class Setting:
    """How everything is listened to."""

    engine: PocketSphinxEngine
    ear: Ear
    offer: Offer
    follow_on: bool

    def hear(self, utterance: Utterance) -> Hearing:
        """Listen with the window open or closed."""
        return self.ear.listen(utterance, self.offer, self.follow_on)

    def passes_by(self, utterance: Utterance) -> bool:
        """Whether it cannot be acted on, whatever it reads: no address, and no window."""
        sound = utterance.sound
        if sound is None:
            return True
        score = POINT.address_score
        return not self.follow_on and self.engine.spot(sound, self.offer.address).score < score


def row_of(
    kind: str, half: str, hearing: Hearing, meant: tuple[object, object], said: str = ""
) -> Row:
    command, evidence = hearing.command, hearing.evidence
    margin = evidence.margin_per_frame if evidence else float("-inf")
    right = command is not None and (command.name, command.slots) == meant
    return Row(kind, half, right, margin, hearing.accepted, hearing.text, said)


def longest(pcm: bytes) -> Utterance | None:
    """What the end-pointer makes of a command between two silences; its longest piece."""
    pointer = EndPointer()
    found = pointer.feed(SILENCE + pcm + SILENCE) + pointer.finish()
    return max(found, key=lambda utterance: utterance.end_s - utterance.start_s, default=None)


def may_be_said(entry: dict[str, object], offer: Offer) -> bool:
    """Whether the present grammar takes the words for the command that the row names."""
    command = offer.match(plain_words(str(entry["say"]))).command
    return command is not None and command.name == entry["command"]


def command_rows(
    folder: Path, noises: Sequence[Samples], setting: Setting, every: int
) -> Iterator[Row]:
    lines = (folder / "index.jsonl").read_text(encoding="utf-8").splitlines()
    sayable = [entry for entry in map(json.loads, lines) if may_be_said(entry, setting.offer)]
    for number, entry in enumerate(sayable[::every]):
        speech = Samples(_floats(read_sound(folder / entry["file"]).pcm), RATE_HZ)
        noisy = mix(speech, noises[number % len(noises)], SNR_DB, number)
        for kind, samples in (("clean", speech), ("noisy", noisy)):
            utterance = longest((samples.values * 32767).astype("<i2").tobytes())
            if utterance is None:
                yield Row(kind, entry["half"], False, float("-inf"), False, "")
                continue
            hearing, meant = setting.hear(utterance), (entry["command"], entry["slots"])
            yield row_of(kind, entry["half"], hearing, meant, entry["say"])


def talk_rows(folders: Sequence[Path], setting: Setting, hours: Hours, every: int) -> Iterator[Row]:
    for talk in list(talk_recordings(folders))[::every]:
        hours[talk.half, talk.kind] += recording_length_s(talk.file) / 3600
        for utterance in recording_utterances(talk.file):
            if not setting.passes_by(utterance):
                hearing = setting.hear(utterance)
                yield row_of(talk.kind, talk.half, hearing, (None, None))


def _floats(pcm: bytes) -> np.ndarray:
    return np.frombuffer(pcm, "<i2").astype(np.float32) / 32768


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("commands", type=Path)
    parser.add_argument("noise", type=Path)
    parser.add_argument("talk", type=Path, nargs="+")
    parser.add_argument("--every", type=int, default=1, help="take one command in so many")
    parser.add_argument("--talk-every", type=int, default=1, help="the same of talk")
    parser.add_argument("--follow-on", action="store_true", help="no address; the window is open")
    options = parser.parse_args()
    offer = build_library().offer(build_scope(Settings()))
    files = sorted(options.noise.glob("*.flac"))
    noises = [Samples(_floats(read_sound(file).pcm), RATE_HZ) for file in files]
    hours: Hours = defaultdict(float)
    with PocketSphinxEngine(Pronouncer()) as engine:
        ear = Ear(engine, processor_s, NO_LINE)
        setting = Setting(engine, ear, offer, options.follow_on)
        said = list(command_rows(options.commands, noises, setting, options.every))
        talk = list(talk_rows(options.talk, setting, hours, options.talk_every))
    text = "\n".join(report(said, talk, hours, options.follow_on)) + "\n"
    RESULTS.mkdir(exist_ok=True)
    name = "follow_on" if options.follow_on else "rejection"
    (RESULTS / f"{name}.md").write_text(text, encoding="utf-8")
    print(text)


def report(said: list[Row], talk: list[Row], hours: Hours, follow_on: bool) -> Iterator[str]:
    how = "follow-on window open" if follow_on else "address phrase first"
    yield f"# Commands against other talk (PocketSphinx, {how}, whole offer)"
    yield ""
    lines = POINT.follow_on if follow_on else POINT.addressed
    yield f"Shipped: acts from {lines.act:g} on, from {lines.act_in_noise:g} where noise lies in"
    yield f"the sound; asks from {lines.ask:g} on. Address {POINT.address_score:g}."
    if follow_on:
        yield "The window is open for seconds after a reply; the rate is an hour of open window."
    yield "Everything through the end-pointer. Missed: not acted on. Wrong: acted on, but not as"
    yield f"said. Noisy: {SNR_DB:g} dB over machines of a shop or babble. Halves share no voice,"
    yield "and the line was chosen on 'tune'. False: talk that was acted on; the bound is the upper"
    yield "95 % bound of a Poisson rate, an hour. 'near' talk was written to hold the words of"
    yield "address phrases, prompts_es, _fr, _it and _ru are other languages; they are counted"
    yield "apart."
    for half in HALVES:
        kinds = sorted(kind for part, kind in hours if part == half)
        apart = {
            "near",
            *(kind for kind in kinds if kind[:8] == "prompts_" and kind != "prompts_en"),
        }
        plain_h = sum(hours[half, kind] for kind in kinds if kind not in apart)
        length = ", ".join(f"{kind} {hours[half, kind]:.2f} h" for kind in kinds)
        yield from ("", f"## {half}", "", f"Talk: {length}.", "")
        yield "| margin | missed clean | wrong | missed noisy | wrong | false | bound | apart |"
        yield "| --- |" + " --- |" * 7
        for margin in MARGINS:
            cells = [f"{margin:g}"]
            for kind in ("clean", "noisy"):
                own = [row for row in said if (row.half, row.kind) == (half, kind)]
                acted = [row for row in own if row.taken(margin)]
                mistaken = sum(not row.right for row in acted)
                missed = 100 * (len(own) - len(acted)) / max(len(own), 1)
                cells += [f"{missed:.1f} %", str(mistaken)]
            false = [row for row in talk if row.half == half and row.taken(margin)]
            plain = sum(row.kind not in apart for row in false)
            bound = upper_95_per_hour(plain, plain_h)
            cells += [str(plain), f"{bound:.1f}" if bound else "-", str(len(false) - plain)]
            yield f"| {' | '.join(cells)} |"
    taken = [row for row in said if row.kind == "clean" and row.taken(lines.act)]
    wrong = [row for row in taken if not row.right]
    yield from ("", "## Clean commands acted on as others, at the line", "")
    yield from (f"- {row.meant}: {row.text}" for row in wrong)
    yield from ("", "## Talk that passed all but the margin", "")
    for row in sorted((row for row in talk if row.fits), key=lambda row: -row.margin):
        yield f"- {row.margin:.0f}, {row.half}, {row.kind}: {row.text}"
    count = Counter(row.kind for row in said)
    right = Counter(row.kind for row in said if row.right)
    yield ""
    yield (
        "Whole command right, before any line: "
        + ", ".join(f"{kind} {right[kind]} of {count[kind]}" for kind in count)
        + "."
    )


if __name__ == "__main__":
    main()
