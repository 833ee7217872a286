"""Tables are refused by row, and every synthesiser speaks."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
import soundfile

from training.speakers import RecipeError
from training.synthesise import Line, main, read_table, synthesise
from training.synthesisers import Synthesisers


def test_a_table_is_refused_by_row(tmp_path: Path) -> None:
    table = tmp_path / "lines.csv"
    table.write_text("say,voice,speed,out\nyes,flite:slt,1,a.flac\nno,flite:slt,9,b.flac\n")
    with pytest.raises(RecipeError, match=r"lines.csv, row 2: expected a speed"):
        read_table(table)
    table = tmp_path / "lines.jsonl"
    table.write_text('{"say": "yes", "voice": "flite:slt"}\n')
    with pytest.raises(RecipeError, match=r"row 1: .*missing out"):
        read_table(table)


@pytest.mark.parametrize(
    ("program", "voice"),
    [
        ("espeak-ng", "espeak:en-gb+f3"),
        ("flite", "flite:slt"),
        ("text2wave", "festival:kal_diphone"),
    ],
)
def test_it_speaks(program: str, voice: str, tmp_path: Path) -> None:
    if shutil.which(program) is None:
        pytest.skip(f"{program} is not installed")
    tools = Synthesisers(tmp_path)
    slow, fast = (Line("The roof is levelled.", voice, f"{s}.flac", s) for s in (0.8, 1.4))
    lengths = [length_s for _, length_s in synthesise([slow, fast], tmp_path, tools)]
    assert lengths[0] > lengths[1] * 1.2
    assert soundfile.info(tmp_path / slow.out).samplerate == 16_000
    assert [length_s for _, length_s in synthesise([slow], tmp_path, tools)] == [0.0]


def test_processes_share_the_work(tmp_path: Path) -> None:
    if shutil.which("flite") is None:
        pytest.skip("flite is not installed")
    table = tmp_path / "table.csv"
    rows = [f"roof,flite:slt,1,{number}.flac" for number in range(5)]
    table.write_text("\n".join(["say,voice,speed,out", *rows]) + "\n")
    assert main([str(table), "--into", str(tmp_path), "--processes", "2"]) == 0
    assert len(list(tmp_path.glob("*.flac"))) == len(rows)
