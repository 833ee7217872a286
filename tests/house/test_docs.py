"""The documents say what the program does, and are checked against it."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from dataclasses import fields
from importlib.metadata import distribution

import pytest

import bayhelper
from bayhelper.decide.job import tables
from bayhelper.run import cli, resources, settings
from bayhelper.sheets import bodies
from bayhelper.sheets.reading import shipped_ids
from bayhelper.terms.scope import Scope
from bayhelper.understand.offer import Library, plain_words
from tests.house import rules

FIRST_SCREEN_LINES = 60


def commands(
    parser: argparse.ArgumentParser, path: str = ""
) -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Every command of the command line with its own parser."""
    nested = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
    if not nested:
        yield path.strip(), parser
    for action in nested:
        for name, child in action.choices.items():
            yield from commands(child, f"{path} {name}")


COMMANDS = dict(commands(cli.parser()))


@pytest.fixture(scope="module")
def readme(root):
    return (root / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def developers(root):
    return (root / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_both_commands_stand_on_the_first_screen(readme):
    first = "\n".join(readme.splitlines()[:FIRST_SCREEN_LINES])
    assert re.search(r"^python3 -m venv .*bin/bayhelper demo$", first, re.MULTILINE)
    assert re.search(r"^python3 -m venv .*bin/pytest\b.*$", first, re.MULTILINE)


def test_every_command_is_documented_and_no_other(readme):
    told = set(re.findall(r"^\| `bayhelper ([a-z ]+)[^`]*` \|", readme, re.MULTILINE))
    assert {name.strip() for name in told} == set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(name):
    assert COMMANDS[name].description
    for action in COMMANDS[name]._actions:
        assert action.help, f"{name} {action.option_strings or action.dest}"


def test_what_the_readme_says_you_can_say_is_understood(readme):
    section = readme.split("## What you can say")[1].split("\n## ")[0]
    rows = "\n".join(line for line in section.splitlines() if line.startswith("|"))
    phrases = re.findall(r"(?<!\w)\*([^*]+)\*", rows)
    body = bodies.load_body("saloon")
    offer = Library(resources.grammar_texts()).offer(Scope(body=body, address=""))
    assert len(phrases) > 20
    assert [phrase for phrase in phrases if offer.match(plain_words(phrase)).edits] == []


def test_the_settings_of_the_readme_are_taken(readme, tmp_path):
    example = re.search(r"```toml\n(.*?)```", readme, re.DOTALL)
    assert example is not None
    (tmp_path / settings.FILE_NAME).write_text(example[1], encoding="utf-8")
    taken = settings.load_settings(tmp_path, {})
    assert taken.technicians == ("Ada", "Bela")
    assert (taken.address, taken.follow_on_s) == (
        settings.Settings().address,
        settings.Settings().follow_on_s,
    )


def test_every_setting_is_named_and_no_other(readme):
    section = readme.split("## Settings")[1].split("\n## ")[0]
    example, told = re.findall(r"```toml\n(.*?)```(.*)", section, re.DOTALL)[0]
    named = set(re.findall(r"^(\w+) =", example, re.MULTILINE))
    named |= set(re.findall(r"`(\w+)`", told.split("Other settings")[1]))
    assert named == {field.name for field in fields(settings.Settings)}


def test_every_body_that_ships_is_named_and_no_other(readme):
    told = re.search(r"^Bodies: (.*?)\.", readme, re.MULTILINE | re.DOTALL)
    assert told is not None
    assert set(re.findall(r"`(\w+)`", told[1])) == set(shipped_ids("bodies"))


def test_every_option_that_is_named_exists(readme):
    options = {option for parser in COMMANDS.values() for option in parser._option_string_actions}
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", readme.split("## ", 1)[1]))
    assert named - {"--only-binary"} <= options
    assert "--data" in named


def test_the_changelog_knows_this_version(root):
    changes = (root / "CHANGELOG.md").read_text(encoding="utf-8")
    headings = re.findall(r"^## (\S+)", changes, re.MULTILINE)
    assert next(name for name in headings if name != "Unreleased") == bayhelper.__version__
    assert "Unreleased" not in headings[1:]


@pytest.mark.parametrize(
    ("rows", "start"),
    [(tables.JOB_ROWS, tables.JOB_START), (tables.PANEL_ROWS, tables.PANEL_START)],
    ids=["job", "panel"],
)
def test_the_diagram_is_the_table(developers, rows, start):
    drawn = re.findall(r"```mermaid\n(.*?)\n```", developers, re.DOTALL)
    assert tables.diagram(rows, start) in drawn


def test_every_third_party_has_a_row_with_its_licence(root, developers):
    pins = re.findall(r"^([\w.-]+)==", (root / "requirements.lock").read_text(), re.MULTILINE)
    rows = dict(re.findall(r"^\| ([\w.-]+) \| [^|]+ \| ([^|]+) \|", developers, re.MULTILINE))
    assert {pin.lower() for pin in pins} <= {row.lower() for row in rows}
    for name, licence in rows.items():
        if name.lower() in {pin.lower() for pin in pins}:
            assert licence.strip(), name


SPDX = ("numpy", "soxr", "pyttsx3", "sounddevice", "cffi", "pycparser")


@pytest.mark.parametrize("name", SPDX)
def test_the_licence_is_that_of_the_distribution(developers, name):
    told = re.search(rf"^\| {name} \| [^|]+ \| ([^|]+) \|", developers, re.MULTILINE)
    assert told is not None
    assert (distribution(name).metadata["License-Expression"] or "").split(" ")[0] in told[1]


def test_the_lock_has_plain_pins_only(root):
    lines = (root / "requirements.lock").read_text().splitlines()
    pins = [line for line in lines if line and not line.startswith("#")]
    plain = re.compile(r"[\w.-]+==[\w.]+(; python_version (==|!=) '3\.\d+')?")
    assert pins
    assert [line for line in pins if not plain.fullmatch(line)] == []


def test_every_folder_of_the_house_is_in_the_picture(root, developers):
    folders = {path.parent.name for path in (root / "bayhelper").glob("**/__init__.py")}
    missing = [name for name in sorted(folders - {"bayhelper"}) if f"{name}/" not in developers]
    assert not missing


def test_what_each_folder_may_import_is_what_the_rules_say(developers):
    rows = re.findall(r"^\| `(\w+)/` \| [^|]+ \|([^|]*)\|$", developers, re.MULTILINE)
    told = {name: set(re.findall(r"`(\w+)`", text)) for name, text in rows}
    assert told.pop("run") == set()
    assert told == rules.FOLDERS


def test_every_file_that_is_named_exists(root, readme, developers):
    text = readme + developers
    named = set(re.findall(r"`([\w./]+/[\w.]*\w\.(?:py|toml|jsgf|md))`", text))
    named |= set(re.findall(r"\]\(([\w./-]+)[)#]", text))
    assert len(named) > 30
    lost = [name for name in named if "SUBJECT" not in name and "NAME" not in name]
    lost = [n for n in lost if not (root / n).exists() and not (root / "bayhelper" / n).exists()]
    assert not lost
