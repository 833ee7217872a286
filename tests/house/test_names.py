"""One noun, one name: a class that is read about in one room is not another one elsewhere."""

from __future__ import annotations

import ast
from collections.abc import Iterable
from pathlib import Path

from tests.house import rules

PACKAGE = Path(__file__).resolve().parents[2] / "bayhelper"


def homonyms(mods: Iterable[rules.Module]) -> dict[str, list[str]]:
    """Public classes that are defined in more than one module, with these modules."""
    homes: dict[str, list[str]] = {}
    for mod in mods:
        for node in mod.tree.body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(mod.path)
    return {name: paths for name, paths in homes.items() if len(paths) > 1}


def test_no_class_has_the_name_of_another():
    assert homonyms(rules.modules(PACKAGE)) == {}


def test_a_homonym_is_seen():
    hear = rules.module("hear/x.py", "class Report: pass\nclass _Line: pass")
    speak = rules.module("speak/y.py", "class Report: pass\nclass _Line: pass")
    assert homonyms([hear, speak]) == {"Report": ["hear/x.py", "speak/y.py"]}
    assert homonyms([hear]) == {}
