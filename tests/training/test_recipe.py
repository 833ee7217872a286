"""The recipe can be followed, is whole, and agrees with the card of the model that ships."""

from __future__ import annotations

import argparse
import ast
import importlib
import re
import tomllib
from collections.abc import Iterator
from itertools import accumulate
from pathlib import Path

import pytest

from bayhelper.run import cli
from training import recipe
from training.recipe import Step, between, main, read_steps, run
from training.sentences import COMMANDS_OF_THE_REST
from training.speakers import RecipeError, parse_speaker

ROOT = Path(__file__).parents[2]
CARD = (ROOT / "bayhelper" / "hear" / "engines" / "model" / "CARD.md").read_text("utf-8")
TOLD = (ROOT / "benchmarks" / "results" / "acoustic-model.md").read_text("utf-8")
WHOLE = tomllib.loads(recipe.RECIPE.read_text("utf-8"))
SHIPPED = WHOLE["shipped"]
STEPS = read_steps()
MODULES = {path.stem: path for path in (ROOT / "training").glob("*.py")}
SUMS = ("9,900", "18,200", "35,000", "48,500")
"""Steps after which acoustic-model.md judges a network of this shape."""
WRITTEN = ("into", "state")
"""Options that name what a step writes."""
FIXED = ("cache", "dict")
"""Options that name what lies elsewhere."""


def options(step: Step) -> argparse.Namespace:
    """What the step's own parser reads; it ends the test for a wrong command."""
    if step.module == "bayhelper":
        return cli.parser().parse_args(step.arguments)
    read: argparse.ArgumentParser = importlib.import_module(step.module).parser()
    return read.parse_args(step.arguments)


OPTIONS = {step.name: options(step) for step in STEPS}


def of(module: str) -> list[argparse.Namespace]:
    return [OPTIONS[step.name] for step in STEPS if step.module == f"training.{module}"]


def paths(found: argparse.Namespace, names: list[str]) -> Iterator[Path]:
    for name in names:
        value = getattr(found, name)
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, Path):
                yield one


def number(pattern: str, text: str = CARD) -> int:
    """The number in the first group, however it is written."""
    match = re.search(pattern, text)
    assert match is not None, pattern
    return int(match[1].replace(",", ""))


def test_what_a_step_reads_an_earlier_one_wrote() -> None:
    there: set[Path] = set()
    for step in STEPS:
        found = OPTIONS[step.name]
        names = [name for name in vars(found) if name not in FIXED]
        for path in paths(found, [name for name in names if name not in WRITTEN]):
            assert there & {path, *path.parents}, f"{step.name} reads {path}"
        if step.module == "training.train" and found.start > 0:
            assert found.state in there, f"{step.name} goes on from {found.state}"
        if step.module == "training.synthesise":
            assert found.table in there
        there |= {*paths(found, [name for name in names if name in WRITTEN])}
        there |= {Path(step.writes)} if step.writes else set()
    assert Path("model") in there


def has_main(path: Path) -> bool:
    return "__main__" in path.read_text("utf-8")


def test_every_program_is_a_step_or_told_to_make_something_else() -> None:
    programs = {name for name, path in MODULES.items() if has_main(path)} - {"recipe"}
    steps = {step.module.removeprefix("training.") for step in STEPS} - {"bayhelper"}
    assert programs == steps | set(WHOLE["elsewhere"])
    assert not steps & set(WHOLE["elsewhere"])


def test_every_other_module_is_a_library_of_these() -> None:
    used: set[str] = set()
    for path in MODULES.values():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("training."):
                used.add(str(node.module).removeprefix("training."))
    libraries = {name for name, path in MODULES.items() if not has_main(path)} - {"__init__"}
    assert libraries <= used


def synthesiser(found: argparse.Namespace) -> str:
    if found.speaker:
        return parse_speaker(found.speaker).synthesiser
    assert found.espeak_share in (0, 1)
    return "espeak" if found.espeak_share else "kokoro"


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("kokoro", r"([\d,]+) by Kokoro-82M"),
        ("espeak", r"([\d,]+) by eSpeak NG"),
        ("festival", r"([\d,]+) by one voice of Festival"),
    ],
)
def test_as_many_recordings_as_the_card_says(name: str, told: str) -> None:
    tables = [one for one in of("sentences") if synthesiser(one) == name]
    assert SHIPPED[name] == sum(one.count for one in tables) == number(told)


def test_tables_are_spread_as_the_card_says() -> None:
    tables = [one for one in of("sentences") if synthesiser(one) != "flite"]
    whole = number(r"([\d,]+) recordings")
    assert sum(one.count for one in tables) == whole
    mixed = [one for one in tables if one.words < 0.5]
    assert sum(one.count for one in mixed) / whole == pytest.approx(2 / 3, abs=0.01)
    for one in mixed:
        assert one.words == number(r"rows of common words \((\d+) %\)") / 100
        commands = (1 - one.words) * COMMANDS_OF_THE_REST
        assert commands == pytest.approx(number(r"commands \((\d+) %\)") / 100, abs=0.01)


def test_every_table_has_a_seed_of_its_own_and_is_said_and_packed() -> None:
    seeds = [one.seed for one in of("sentences")]
    assert len(set(seeds)) == len(seeds)
    tables = {Path(s.writes) for s in STEPS if s.module == "training.sentences"}
    assert {one.table for one in of("synthesise")} == tables
    packed = [table for one in of("packing") for table in one.table]
    assert sorted(packed) == sorted(tables)


def test_the_courses_are_those_of_the_card() -> None:
    runs = of("train")
    steps = list(accumulate(one.steps for one in runs))
    assert steps[-1] == SHIPPED["steps"] == number(r"([\d,]+) steps of 900 s")
    assert {number(rf"\| ({told}) \|", TOLD) for told in SUMS} <= {*steps}
    assert len([one for one in runs if one.start == 0]) == SHIPPED["courses"] == 4
    assert "in four courses" in CARD
    assert [one.rate for one in runs if one.begin] == [2e-3, 1.2e-3, 1.2e-3]
    assert number(r"GPU in (\d+) minutes") == SHIPPED["minutes"]
    assert [*runs[-1].snr_db] == SHIPPED["snr_db"]
    assert "from -3 to 20 dB (26 dB in the first three courses)" in CARD
    assert {one.snr_db[1] for one in runs[:-1]} == {26}
    for one in runs:
        assert f"{one.blocks} blocks, {one.width} wide, {one.narrow} narrow" in CARD


def test_the_hours_are_those_of_the_card() -> None:
    assert f"{SHIPPED['hours']} hours with their silences" in CARD


def test_a_step_runs_and_what_it_prints_is_kept(tmp_path: Path) -> None:
    [words] = between(STEPS, "grammar-words", "grammar-words")
    run(words, tmp_path)
    assert {"bonnet", "hood", "roof"} <= set((tmp_path / words.writes).read_text().split())
    assert [path.name for path in tmp_path.iterdir()] == [words.writes]


def test_a_step_that_fails_ends_the_run_and_leaves_no_file(tmp_path: Path) -> None:
    step = Step("odd", "training.grammar_words", ("--unheard-of",), "words.txt", "")
    with pytest.raises(RecipeError, match=r"step odd ended with 2.*--from odd"):
        run(step, tmp_path)
    assert not (tmp_path / "words.txt").exists()


def test_a_step_without_a_command_is_refused(tmp_path: Path) -> None:
    broken = tmp_path / "recipe.toml"
    broken.write_text('[[step]]\nname = "a"\nrun = "x"\n[[step]]\nname = "b"\n')
    with pytest.raises(RecipeError, match=r"recipe.toml, step 2: expected name and run"):
        read_steps(broken)


def test_it_is_printed_as_a_script_from_step_to_step(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--from", "grammar-words", "--to", "lexicon"]) == 0
    printed = capsys.readouterr().out
    assert "python -m training.grammar_words > grammar.txt" in printed
    assert "training.export" not in printed
    assert main(["--from", "harp"]) == 2
    assert "got 'harp'" in capsys.readouterr().err
