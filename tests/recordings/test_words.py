"""The recordings cover every command, mean what their lists say, and keep up with their tables."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from bayhelper.decide.acts.catalogue import ACTS, SIGNATURES
from bayhelper.run.resources import grammar_texts
from bayhelper.sheets.bodies import load_body
from bayhelper.terms.choices import STAGES
from bayhelper.terms.scope import Scope
from bayhelper.terms.slots import SLOTS
from bayhelper.understand.offer import Library
from training.speakers import FIXTURES

ROOT = Path(__file__).parents[2]
TABLE = tomllib.loads((ROOT / "training" / "fixtures.toml").read_text("utf-8"))
COMMAND_ROWS = tomllib.loads((ROOT / "audio_fixtures" / "commands.toml").read_text("utf-8"))[
    "command"
]
TALK_ROWS = tomllib.loads((ROOT / "audio_fixtures" / "other_talk.toml").read_text("utf-8"))[
    "other_talk"
]
SENTENCES = [
    line
    for path in sorted((ROOT / "benchmarks" / "other_talk").glob("*.txt"))
    for line in path.read_text("utf-8").splitlines()
    if line.strip() and not line.startswith("#")
]


def test_every_command_has_a_recording() -> None:
    assert {row["command"] for row in COMMAND_ROWS} == set(ACTS)


@pytest.mark.parametrize("row", COMMAND_ROWS, ids=lambda row: str(row["file"]))
def test_its_meaning_fits_the_catalogue(row: dict[str, object]) -> None:
    slots = row["slots"]
    assert isinstance(slots, dict)
    assert SIGNATURES[str(row["command"])].fits(slots)
    for name, value in slots.items():
        assert type(value) is SLOTS[name].kind
    assert slots.get("stage", "wash") in STAGES


@pytest.fixture(scope="module")
def library() -> Library:
    return Library(grammar_texts())


@pytest.mark.parametrize("row", COMMAND_ROWS, ids=lambda row: str(row["file"]))
def test_its_words_may_be_said_and_mean_what_the_list_says(
    row: dict[str, Any], library: Library
) -> None:
    meanings = []
    for body in ("saloon", "hatchback"):
        scope = Scope(load_body(body), str(TABLE["address"]), dialect=row["dialect"])
        match = library.offer(scope).match(row["words"].split())
        assert match.addressed
        if match.command is not None and match.edits == 0:
            meanings.append((match.command.name, match.command.slots))
    assert (row["command"], row["slots"]) in meanings


def test_every_voice_says_a_fair_share_of_the_commands() -> None:
    said = [row["voice"] for row in COMMAND_ROWS]
    for voice in FIXTURES.values():
        assert said.count(voice) >= len(said) // 5


def test_recordings_keep_up_with_their_table() -> None:
    address = TABLE["address"]
    table = [(row["command"], f"{address} {row['say']}") for row in TABLE["command"]]
    assert [(row["command"], row["words"]) for row in COMMAND_ROWS] == table
    assert [row["spoken"] for row in TALK_ROWS] == [row["say"] for row in TABLE["other_talk"]]


def test_other_talk_is_a_dozen_of_the_sentences_written_for_it() -> None:
    assert len(TALK_ROWS) >= 12
    for row in TALK_ROWS:
        spoken = str(row["spoken"]).lower()
        assert any(spoken in sentence.lower() for sentence in SENTENCES)


def test_other_talk_is_varied_and_never_addresses_the_helper() -> None:
    assert len(SENTENCES) >= 400
    assert len(set(SENTENCES)) == len(SENTENCES)
    address = str(TABLE["address"])
    assert not [s for s in SENTENCES if address in s.lower()]
    words = {word.strip(".,?!") for s in SENTENCES for word in s.lower().split()}
    assert len(words) > 1200
