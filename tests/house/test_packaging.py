"""What is built and installed: one package with its data inside, complete, and small enough."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Iterable
from importlib.metadata import distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from bayhelper.run import resources
from bayhelper.terms.errors import RunError

TOP_LEVEL = {
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "audio_fixtures",
    "bayhelper",
    "benchmarks",
    "grammars",
    "pyproject.toml",
    "requirements.lock",
    "tests",
    "training",
}
BUILT = {"PKG-INFO", "build", "dist"}
MOST_DEMO_BYTES = 8_000_000
MOST_BASE_BYTES = 200_000_000


def build(root: Path, out: Path, *what: str) -> Path:
    """Build with the back end that is installed here; gives the wheel."""
    subprocess.run(
        [sys.executable, "-m", "build", "--no-isolation", "--outdir", out, *what, root],
        check=True,
        capture_output=True,
        cwd=out,
    )
    return next(out.glob("*.whl"))


def unmeasured():
    """The environment, without what has coverage measured in programs that a test starts."""
    return {name: value for name, value in os.environ.items() if "COV" not in name}


@pytest.fixture(scope="module")
def wheel(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel as built from the sdist that was built from this tree."""
    return build(root, tmp_path_factory.mktemp("dist"))


def contents(wheel: Path) -> dict[str, str]:
    """SHA-256 of every file of a wheel by its path."""
    with zipfile.ZipFile(wheel) as archive:
        return {name: hashlib.sha256(archive.read(name)).hexdigest() for name in archive.namelist()}


def data_files(root: Path) -> dict[str, Path]:
    """Where each data file of the tree has to be in the wheel."""
    folders = {
        "bayhelper/grammars": root / "grammars",
        "bayhelper/audio_fixtures/demo": root / "audio_fixtures" / "demo",
        "bayhelper/sheets": root / "bayhelper" / "sheets",
    }
    return {
        f"{inside}/{path.relative_to(folder).as_posix()}": path
        for inside, folder in folders.items()
        for path in folder.rglob("*")
        if path.is_file() and path.suffix not in {".py", ".pyc"}
    }


def test_nothing_else_lies_at_the_top(root):
    found = {path.name for path in root.iterdir() if not path.name.startswith(".")} - BUILT
    assert found <= TOP_LEVEL


def test_the_wheel_installs_one_package(wheel):
    tops = {name.split("/")[0] for name in contents(wheel)}
    assert tops == {"bayhelper", next(top for top in tops if top.endswith(".dist-info"))}


def test_every_data_file_ships_unchanged(root, wheel):
    shipped = contents(wheel)
    expected = {
        inside: hashlib.sha256(path.read_bytes()).hexdigest()
        for inside, path in data_files(root).items()
    }
    kinds = {Path(inside).suffix for inside in expected}
    assert {".toml", ".flac"} <= kinds
    assert {inside: shipped.get(inside) for inside in expected} == expected


def unlisted(root: Path, listed: Iterable[str]) -> list[str]:
    """Files of the tree, beneath what stands at its top, that are not among the listed ones."""
    tops = [root / name for name in TOP_LEVEL]
    files = {path for top in tops for path in (top, *top.rglob("*")) if path.is_file()}
    ours = {path for path in files if "__pycache__" not in path.parts and path.suffix != ".pyc"}
    return sorted({path.relative_to(root).as_posix() for path in ours} - set(listed))


@pytest.fixture(scope="module")
def unpacked(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sdist that the wheel was built from, unpacked."""
    folder = tmp_path_factory.mktemp("sdist")
    with tarfile.open(next(wheel.parent.glob("*.tar.gz"))) as archive:
        archive.extractall(folder, filter="data")
    return next(folder.iterdir())


def test_everything_at_the_top_is_in_the_sdist(root, unpacked):
    """So what the tests import or read by its path is there as well: it lies in no other place."""
    files = [path for path in unpacked.rglob("*") if path.is_file()]
    listed = {path.relative_to(unpacked).as_posix() for path in files}
    assert unlisted(root, listed) == []
    without = {name for name in listed if not name.startswith("training/")}
    assert "training/speakers.py" in unlisted(root, without)


def test_an_unpacked_sdist_holds_what_its_tests_load(unpacked):
    """Every test module is loaded there, with all that it imports and reads when it is loaded."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", "-q", "-p", "no:cacheprovider"],
        capture_output=True,
        text=True,
        cwd=unpacked,
        check=False,
        env=unmeasured(),
    )
    assert done.returncode == 0, done.stdout[-2000:]


def test_the_sdist_gives_the_same_wheel(root, wheel, tmp_path):
    assert contents(build(root, tmp_path, "--wheel")) == contents(wheel)


def test_the_wheel_finds_its_data_from_an_empty_folder(wheel, tmp_path):
    installed = tmp_path / "installed"
    empty = tmp_path / "empty"
    empty.mkdir()
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(installed)
    code = (
        f"import sys; sys.path.insert(0, {str(installed)!r})\n"
        "from bayhelper.run import resources as r\n"
        "print(r.grammars_dir()); print(r.demo_dir()); print(len(r.grammar_texts()))"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", code],
        check=True,
        capture_output=True,
        text=True,
        cwd=empty,
        env=unmeasured(),
    )
    grammars, demo, count = done.stdout.split()
    assert Path(grammars) == installed / "bayhelper" / "grammars"
    assert Path(demo) == installed / "bayhelper" / "audio_fixtures" / "demo"
    assert int(count) == len(resources.grammar_texts()) > 1


def test_the_demo_is_small_and_lossless(root):
    files = [path for path in (root / "audio_fixtures" / "demo").rglob("*") if path.is_file()]
    assert {path.suffix for path in files} == {".flac", ".toml"}
    assert sum(path.stat().st_size for path in files) < MOST_DEMO_BYTES


def test_a_source_tree_is_used_from_where_it_lies(root):
    assert resources.grammars_dir() == root / "grammars"
    assert resources.demo_dir() == root / "audio_fixtures" / "demo"


def test_missing_data_is_explained(tmp_path):
    with pytest.raises(RunError, match="incomplete: install bayhelper again"):
        resources.find("grammars", "*.jsgf", tmp_path / "bayhelper")


def test_a_neighbour_of_an_installed_package_is_not_taken_for_ours(tmp_path):
    package = tmp_path / "bayhelper"
    for folder in (tmp_path / "grammars", package / "grammars"):
        folder.mkdir(parents=True)
        (folder / "a.jsgf").write_text("#JSGF V1.0;")
    assert resources.find("grammars", "*.jsgf", package) == package / "grammars"
    (tmp_path / "pyproject.toml").touch()
    assert resources.find("grammars", "*.jsgf", package) == tmp_path / "grammars"


def brought_in(needs: Iterable[str], seen: set[str]) -> set[str]:
    """Names of the distributions that come with these requirements, without extras."""
    for need in map(Requirement, needs):
        name = re.sub(r"[-_.]+", "-", need.name).lower()
        wanted = need.marker is None or need.marker.evaluate({"extra": ""})
        if wanted and name not in seen:
            seen.add(name)
            brought_in(distribution(name).requires or (), seen)
    return seen


def test_the_base_install_is_under_200_mb(root):
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = brought_in(project["dependencies"], set())
    files = [Path(str(file.locate())) for name in names for file in distribution(name).files or ()]
    ours = [*data_files(root).values(), *(root / "bayhelper").rglob("*.py")]
    total = sum(path.stat().st_size for path in [*files, *ours] if path.is_file())
    assert {"vosk", "pocketsphinx", "numpy", "espeakng-loader", "cffi", "requests"} <= names
    assert MOST_BASE_BYTES / 4 < total < MOST_BASE_BYTES
