"""A constant says where its number comes from, and a docstring says something or is not there."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house import rules

PACKAGE = Path(__file__).resolve().parents[2] / "bayhelper"
HOUSE = rules.modules(PACKAGE)
FEWEST_WORDS = 4
CONSTANT = re.compile(r"_?[A-Z][A-Z0-9_]*")


def is_text(node: ast.stmt | None) -> bool:
    """Whether a statement is a string that stands by itself."""
    return (
        isinstance(node, ast.Expr)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    )


def constants(node: ast.stmt) -> list[str]:
    """Names in capitals that a statement defines."""
    if isinstance(node, ast.Assign):
        targets = node.targets
    elif isinstance(node, ast.AnnAssign):
        targets = [node.target]
    else:
        return []
    names = [one for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)]
    return [one.id for one in names if CONSTANT.fullmatch(one.id)]


def untold(mod: rules.Module) -> Iterator[str]:
    """Constants of a module without a sentence under them."""
    following = [*mod.tree.body[1:], None]
    for node, after in zip(mod.tree.body, following, strict=True):
        if constants(node) and not is_text(after):
            yield f"{mod.path}:{node.lineno}: no sentence under {', '.join(constants(node))}"


def curt(mod: rules.Module) -> Iterator[str]:
    """Docstrings too short to say more than the name does."""
    for node in ast.walk(mod.tree):
        if not isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        text = ast.get_docstring(node)
        if text is not None and len(text.split()) < FEWEST_WORDS:
            line = getattr(node, "lineno", 1)
            yield f"{mod.path}:{line}: '{text}' says too little"


FOLDERS = sorted({mod.folder for mod in HOUSE} - {""})


@pytest.mark.parametrize("folder", FOLDERS)
def test_every_constant_says_where_its_number_comes_from(folder):
    found = [line for mod in HOUSE if mod.folder == folder for line in untold(mod)]
    assert not found, "\n" + "\n".join(found)


@pytest.mark.parametrize("folder", FOLDERS)
def test_every_docstring_says_something(folder):
    found = [line for mod in HOUSE if mod.folder == folder for line in curt(mod)]
    assert not found, "\n" + "\n".join(found)


@pytest.mark.parametrize(
    "source", ["LIMIT = 3", "A, B = 1, 2\n\n\ndef f(): pass", "_TABLE: int = 1\nx = 2"]
)
def test_a_constant_without_a_sentence_is_seen(source):
    assert list(untold(rules.module("hear/x.py", source)))
    assert not list(untold(rules.module("hear/x.py", source.split("\n")[0] + "\n'''By trial.'''")))


def test_what_is_no_constant_needs_none():
    assert not list(untold(rules.module("hear/x.py", "Scope = TypeVar('Scope')\nx = 1")))


@pytest.mark.parametrize(
    "source", ['"""A module."""', 'def f():\n    """See Network."""', 'class A:\n    """A."""']
)
def test_a_docstring_that_says_nothing_is_seen(source):
    assert list(curt(rules.module("hear/x.py", source)))
