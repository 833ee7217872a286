"""Under each constant of training and benchmarks stands where its number comes from."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest


def untold(source: str) -> Iterator[str]:
    """Names in capitals at the top of a module with no sentence under them."""
    body = ast.parse(source).body
    for node, after in zip(body, [*body[1:], ast.Pass()], strict=True):
        if not isinstance(node, ast.Assign | ast.AnnAssign):
            continue
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        names = [n.id for target in targets for n in ast.walk(target) if isinstance(n, ast.Name)]
        told = isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant)
        if not told:
            yield from (name for name in names if name.isupper())


@pytest.mark.parametrize("folder", ["benchmarks", "training"])
def test_every_constant_has_its_sentence(root, folder):
    files = sorted((root / folder).rglob("*.py"))
    found = {path.name: list(untold(path.read_text(encoding="utf-8"))) for path in files}
    assert len(found) > 8
    assert {name: names for name, names in found.items() if names} == {}


def test_one_without_is_seen():
    assert list(untold('A = 1\n"""One."""\nB, C = 2, 3\n')) == ["B", "C"]
