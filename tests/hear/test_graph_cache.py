import shutil

import pytest

from bayhelper.hear.engines.graph_cache import KEPT, GraphCache


class Maker:
    def __init__(self):
        self.times = 0

    def __call__(self, into):
        self.times += 1
        (into / "phones").mkdir()
        (into / "graph").write_bytes(b"graph")
        (into / "phones" / "places").write_bytes(b"places")


@pytest.fixture
def make():
    return Maker()


@pytest.fixture
def lay(tmp_path, make):
    def laid(key="key", cache=tmp_path / "cache"):
        into = tmp_path / "into"
        shutil.rmtree(into, ignore_errors=True)
        GraphCache(cache).lay(key, make, into)
        files = (path for path in into.rglob("*") if path.is_file())
        return {path.relative_to(into).as_posix(): path.read_bytes() for path in files}

    return laid


WHOLE = {"graph": b"graph", "phones/places": b"places"}


def test_a_graph_is_made_once(lay, make):
    assert [lay(), lay()] == [WHOLE, WHOLE]
    assert make.times == 1


def cut(folder):
    (folder / "graph").write_bytes(b"gra")


def changed(folder):
    (folder / "phones" / "places").write_bytes(b"plages")


def lost(folder):
    (folder / "graph").unlink()


def added(folder):
    (folder / "more").write_bytes(b"")


def without_list(folder):
    (folder / "digests.json").unlink()


def with_broken_list(folder):
    (folder / "digests.json").write_text("{")


@pytest.mark.parametrize("damage", [cut, changed, lost, added, without_list, with_broken_list])
def test_a_damaged_graph_is_made_again(lay, make, tmp_path, damage):
    lay()
    damage(tmp_path / "cache" / "key")
    assert lay() == WHOLE
    assert make.times == 2
    assert lay() == WHOLE
    assert make.times == 2


def test_a_folder_that_cannot_be_written_costs_only_time(lay, make, tmp_path):
    (tmp_path / "file").write_bytes(b"")
    assert [lay(cache=tmp_path / "file"), lay(cache=tmp_path / "file")] == [WHOLE, WHOLE]
    assert make.times == 2


def test_only_so_many_are_kept(lay, tmp_path):
    for n in range(KEPT + 2):
        lay(f"key{n}")
    assert len(list((tmp_path / "cache").iterdir())) == KEPT


def test_what_goes_wrong_while_making_leaves_nothing_behind(tmp_path):
    def fail(into):
        raise RuntimeError

    with pytest.raises(RuntimeError):
        GraphCache(tmp_path / "cache").lay("key", fail, tmp_path / "into")
    assert not (tmp_path / "cache").exists()
