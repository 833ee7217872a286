"""Make every recording in audio_fixtures/ from its table, with one command.

    python -m training.make_fixtures            # only what changed: words, voice or pace
    python -m training.make_fixtures --again    # all of them

Tables: training/fixtures.toml (the address phrase, one row a command, the other talk) and
audio_fixtures/demo/story.toml (the demo's lines). Beside the recordings a list is written of each
file, its words, what they mean, who says them and what it was made by: commands.toml,
other_talk.toml, noise.toml and demo/recordings.toml. Files that no row names any more are deleted.
"""

from __future__ import annotations

import argparse
import json
import sys
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from training.noise import noise
from training.sound_files import SILENCE_S, recording, write
from training.speakers import FIXTURES, RecipeError, parse_speaker
from training.synthesise import DEFAULT_CACHE
from training.synthesisers import Synthesisers

ROOT = Path(__file__).parent.parent
"""Top of the source tree."""
FOLDER = ROOT / "audio_fixtures"
"""Where the recordings go."""
TABLE = Path(__file__).parent / "fixtures.toml"
"""Commands and other talk."""
STORY = FOLDER / "demo" / "story.toml"
"""The demo's lines."""
HEAD = (
    "# Written by training/make_fixtures.py; do not edit. No real person's speech: every file is\n"
    "# synthetic, and made_by says by what (Kokoro-82M is Apache-2.0).\n"
)
"""What stands at the top of every list."""


@dataclass(frozen=True)
class Fixture:
    """One recording to make."""

    file: str
    """Name, relative to the folder of its list."""
    words: str
    """What is said, plain lower-case words, the address phrase included."""
    spoken: str
    """The same as it is given to the synthesiser, with commas for the pauses."""
    voice: str
    """Speaker in the notation of training/speakers.py."""
    speed: float
    """1.0 is the voice's own pace."""
    more: Mapping[str, object] = field(default_factory=dict)
    """What else the list says about it."""


def plain(text: str) -> str:
    """Lower-case words without punctuation, as engines hear them."""
    kept = "".join(c if c.isalnum() or c in "' " else " " for c in text.lower())
    return " ".join(kept.split())


def command_fixtures(table: Mapping[str, object], address: str) -> list[Fixture]:
    """One recording a row; speakers of the row's dialect take turns unless the row names one."""
    found: list[Fixture] = []
    counts: dict[str, int] = {}
    for number, row in enumerate(_rows(table, "command", ("command", "say"))):
        name, dialect = str(row["command"]), str(row.get("dialect", "uk"))
        counts[name] = counts.get(name, 0) + 1
        turn = "michael" if dialect == "us" else tuple(FIXTURES)[number % len(FIXTURES)]
        voice = _voice(row, turn)
        say = str(row["say"])
        more = {"command": name, "slots": row.get("slots", {}), "dialect": dialect}
        file = f"commands/{name}_{counts[name]}.flac"
        spoken = f"{address}, {say}"
        found.append(Fixture(file, plain(spoken), spoken, voice, _speed(row), more))
    return found


def talk_fixtures(table: Mapping[str, object]) -> list[Fixture]:
    """Talk that is not for the helper, speakers taking turns."""
    found = []
    for number, row in enumerate(_rows(table, "other_talk", ("say",))):
        voice = _voice(row, tuple(FIXTURES)[number % len(FIXTURES)])
        say = str(row["say"])
        file = f"other_talk/talk_{number + 1:02d}.flac"
        found.append(Fixture(file, plain(say), say, voice, _speed(row)))
    return found


def demo_fixtures(story: Mapping[str, object], address: str) -> list[Fixture]:
    """The demo's lines; `[voices]` maps a person to a speaker, else emma and george take turns.

    `{address}` in a line stands for the address phrase; a line that begins with it gets a pause.
    """
    rows = _rows(story, "line", ("file", "who", "say"))
    people = list(dict.fromkeys(str(row["who"]) for row in rows))
    usual = [voice for _, voice in zip(people, FIXTURES.values(), strict=False)]
    voices = dict(zip(people, usual, strict=False)) | _strings(story.get("voices", {}))
    found = []
    for row in rows:
        who = str(row["who"])
        if who not in voices:
            raise RecipeError(f"story.toml: no voice for {who!r}: add it to [voices]")
        say = str(row["say"]).replace("{address}", address)
        lead = say.lower().startswith(address + " ")
        spoken = f"{say[: len(address)]},{say[len(address) :]}" if lead else say
        more = {"who": who}
        voice = _voice(row, voices[who])
        found.append(Fixture(str(row["file"]), plain(say), spoken, voice, _speed(row), more))
    return found


def make(
    fixtures: Sequence[Fixture],
    listing: Path,
    heading: str,
    synthesisers: Synthesisers,
    again: bool,
) -> int:
    """Make what changed, delete what is no longer named, write the list; gives how many are new."""
    rows = _read(listing).get(heading, []) if listing.exists() else []
    before = {str(row["file"]): row for row in rows}
    blocks: list[str] = []
    made = 0
    for fixture in fixtures:
        target = listing.parent / fixture.file
        entry: dict[str, object] = {"file": fixture.file, "words": fixture.words, **fixture.more}
        entry |= {"spoken": fixture.spoken, "voice": fixture.voice, "speed": fixture.speed}
        old = before.get(fixture.file, {})
        if again or not target.exists() or any(old.get(key) != entry[key] for key in _SOUND):
            entry |= _record(fixture, target, synthesisers)
            made += 1
        else:
            entry |= {"made_by": old["made_by"], "length_s": old["length_s"]}
        blocks.append(f"\n[[{heading}]]\n" + "".join(_pairs(entry)))
    for stale in set(before) - {fixture.file for fixture in fixtures}:
        (listing.parent / stale).unlink(missing_ok=True)
    listing.write_text(HEAD + "".join(blocks), encoding="utf-8")
    return made


def _record(fixture: Fixture, target: Path, synthesisers: Synthesisers) -> dict[str, object]:
    speaker = parse_speaker(fixture.voice)
    synthesiser = synthesisers.for_speaker(speaker)
    speech = synthesiser.say(fixture.spoken, speaker, fixture.speed)
    length_s = write(target, recording(speech, fixture.spoken, SILENCE_S))
    return {"made_by": synthesiser.made_by, "length_s": round(length_s, 2)}


def noises(table: Mapping[str, object], listing: Path) -> None:
    """Write the noises of the table, which are calculated anew each time, and their list."""
    blocks = []
    for row in _rows(table, "noise", ("kind", "length_s", "seed")):
        kind, length_s = str(row["kind"]), float(str(row["length_s"]))
        file = f"noise/{kind}.flac"
        write(listing.parent / file, noise(kind, length_s, int(str(row["seed"]))))
        entry = {"file": file, "words": "", "made_by": "training/noise.py", "length_s": length_s}
        blocks.append("\n[[noise]]\n" + "".join(_pairs(entry)))
    listing.write_text(HEAD + "".join(blocks), encoding="utf-8")


_SOUND = ("spoken", "voice", "speed")
"""Entries that change how a recording sounds."""


def _read(path: Path) -> dict[str, list[dict[str, object]]]:
    with path.open("rb") as stream:
        return tomllib.load(stream)


def _rows(
    table: Mapping[str, object], heading: str, needs: Sequence[str]
) -> list[Mapping[str, object]]:
    rows = table.get(heading)
    if not isinstance(rows, list):
        raise RecipeError(f"expected [[{heading}]] rows in the table, found none: add them")
    for number, row in enumerate(rows, 1):
        missing = [name for name in needs if name not in row]
        if missing:
            raise RecipeError(f"[[{heading}]] row {number}: missing {', '.join(missing)}")
    return rows


def _voice(row: Mapping[str, object], otherwise: str) -> str:
    name = str(row.get("voice", otherwise))
    return FIXTURES.get(name, name)


def _speed(row: Mapping[str, object]) -> float:
    return float(str(row.get("speed", 1.1)))


def _strings(value: object) -> dict[str, str]:
    if not isinstance(value, dict):
        raise RecipeError(f"expected a table [voices], got {value!r}")
    return {str(who): FIXTURES.get(str(voice), str(voice)) for who, voice in value.items()}


def _pairs(entry: Mapping[str, object]) -> list[str]:
    return [f"{key} = {_toml(value)}\n" for key, value in entry.items()]


def _toml(value: object) -> str:
    if isinstance(value, dict):
        inner = ", ".join(f"{key} = {_toml(item)}" for key, item in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    return json.dumps(value, ensure_ascii=False)


def main(argv: Sequence[str] | None = None) -> int:
    """The command line; gives the exit status."""
    parser = argparse.ArgumentParser(description="Make the recordings in audio_fixtures/")
    parser.add_argument("--cache", type=Path, default=DEFAULT_CACHE, help="folder for the voices")
    parser.add_argument("--again", action="store_true", help="make all of them anew")
    parser.add_argument("--address", help="another address phrase than the table's")
    options = parser.parse_args(argv)
    try:
        table = _read(TABLE)
        address = options.address or str(table["address"])
        tools = Synthesisers(options.cache)
        made = make(
            command_fixtures(table, address),
            FOLDER / "commands.toml",
            "command",
            tools,
            options.again,
        )
        talk = FOLDER / "other_talk.toml"
        made += make(talk_fixtures(table), talk, "other_talk", tools, options.again)
        noises(table, FOLDER / "noise.toml")
        if STORY.exists():
            lines = demo_fixtures(_read(STORY), address)
            made += make(lines, STORY.parent / "recordings.toml", "line", tools, options.again)
    except RecipeError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{made} recordings made")
    return 0


if __name__ == "__main__":
    sys.exit(main())
