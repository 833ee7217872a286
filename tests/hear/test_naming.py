"""Address phrases and names are judged by their sounds, and by what was measured."""

import io
import re
from pathlib import Path

import pytest

from bayhelper.hear.engines.pocketsphinx_engine import PocketSphinxEngine
from bayhelper.hear.engines.pronounce import Pronouncer
from bayhelper.hear.naming import FEWEST_PHONES, address_warnings, name_warnings
from bayhelper.hear.sounding import distance, syllables
from bayhelper.run.cli import main
from bayhelper.run.settings import Settings

RESULTS = Path(__file__).parents[2] / "benchmarks" / "results" / "address.md"
PHRASES = ("that was wrong", "take a note", "sign off the job", "which seams are bare")


@pytest.fixture(scope="module")
def engine():
    with PocketSphinxEngine(Pronouncer()) as made:
        yield made


def wakes_at_the_line():
    """False wakes of each phrase at the shipped line, over all kinds of talk but the 'near' one."""
    table = RESULTS.read_text(encoding="utf-8").split("## Taken at -40")[1]
    rows = re.findall(r"^\| ([a-z ]+) \| \d+ of 16 \|([ \d|]+)\|$", table, re.MULTILINE)
    return {phrase: sum(map(int, counts.split("|")[:-1])) for phrase, counts in rows}


def test_what_was_measured_to_wake_often_is_warned_of(engine):
    """The warning must part those phrases that other talk wakes from those that it does not."""
    wakes = wakes_at_the_line()
    assert len(wakes) == 9
    warned = {phrase for phrase in wakes if address_warnings(phrase, PHRASES, engine.phones)}
    assert min(wakes[phrase] for phrase in warned) > max(
        wakes[phrase] for phrase in set(wakes) - warned
    )
    assert {"bay helper", "hey gadget"} <= warned
    assert "workshop copy" not in warned


def test_a_phrase_like_a_command_is_told_with_the_command(engine):
    (warning,) = address_warnings("that was long", PHRASES, engine.phones)
    assert "'that was wrong'" in warned_text(warning)


def warned_text(warning):
    assert "Choose" in warning
    return warning


def test_names_are_held_against_first_words_and_one_another(engine):
    begins = ("roof", "left", "take", "which")
    assert name_warnings(("Robin", "Maya"), "workshop copy", begins, engine.phones) == ()
    (alike,) = name_warnings(("Robin", "Robyn"), "workshop copy", begins, engine.phones)
    assert "Robin" in alike and "Robyn" in alike
    (roof,) = name_warnings(("Ruth",), "workshop copy", begins, engine.phones)
    assert "'roof'" in roof


def test_a_word_without_sound_is_told(engine):
    (address,) = address_warnings("雪 雪", PHRASES, engine.phones)
    (name,) = name_warnings(("雪",), "workshop copy", ("roof",), engine.phones)
    assert "No pronunciation" in address and "No pronunciation" in name


def test_distance_is_a_distance():
    """Wagner and Fischer's table: nothing to itself, symmetric, never longer by a detour."""
    rows = ["R UW F".split(), "R AA B".split(), "JH AA B".split(), "M AY AH".split(), []]
    for a in rows:
        assert distance(a, a) == 0
        for b in rows:
            assert distance(a, b) == pytest.approx(distance(b, a))
            for c in rows:
                assert distance(a, c) <= distance(a, b) + distance(b, c) + 1e-9
    assert syllables("W ER K SH AA P K AA P IY".split()) == 4
    assert FEWEST_PHONES == 9


def test_check_tells_it(tmp_path, capsys):
    (tmp_path / "settings.toml").write_text(
        'address = "bay helper"\ntechnicians = ["Ruth", "Maya"]\n'
    )
    main(["check", "--data", str(tmp_path)])
    out = capsys.readouterr().out
    assert "'bay helper' is short" in out and "'Ruth' sounds much like 'roof'" in out


def test_work_tells_it_before_it_listens(monkeypatch, tmp_path):
    from bayhelper.run.bay import live_session

    class NoDeviceHere(Exception):
        pass

    def no_device(*_):
        raise NoDeviceHere

    monkeypatch.setattr(live_session, "open_live", no_device)
    told = io.StringIO()
    with pytest.raises(NoDeviceHere):
        live_session.work_live(tmp_path, Settings(technicians=("Ruth",)), io.StringIO(), told)
    assert "'Ruth' sounds much like 'roof'" in told.getvalue()
