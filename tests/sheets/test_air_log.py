"""The file that a logger of the air appends to."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from bayhelper.sheets.air_log import HEADER, AirRow, last_air
from bayhelper.terms.errors import SheetError


def written(tmp_path, text):
    path = tmp_path / "air.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_last_row_counts_and_its_time_is_in_utc(tmp_path):
    path = written(
        tmp_path, f"{HEADER}\n2026-03-02T09:00:00Z,21,48\n2026-03-02T10:10:00+01:00,22.5,55\n"
    )
    assert last_air(path) == AirRow(datetime(2026, 3, 2, 9, 10, tzinfo=UTC), 22.5, 55.0)


def test_a_row_that_is_still_being_written_waits(tmp_path):
    path = written(tmp_path, f"{HEADER}\n2026-03-02T09:00:00Z,21,48\n2026-03-02T09:10:00Z,2")
    row = last_air(path)
    assert row is not None and row.temp_c == 21


def test_only_the_end_of_a_long_file_is_read(tmp_path):
    rows = "".join(f"2026-03-02T09:{n % 60:02d}:00Z,{n % 30},50\n" for n in range(20_000))
    row = last_air(written(tmp_path, f"{HEADER}\n{rows}"))
    assert row is not None and row.temp_c == 19_999 % 30


def test_a_header_alone_says_nothing(tmp_path):
    assert last_air(written(tmp_path, f"{HEADER}\n")) is None
    assert last_air(written(tmp_path, "")) is None


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2026-03-02T09:00:00Z,21", "time,temp_c,rh_percent"),
        ("2026-03-02T09:00:00,21,48", "no zone"),
        ("yesterday,21,48", "yesterday"),
        ("2026-03-02T09:00:00Z,warm,48", "warm"),
        ("2026-03-02T09:00:00Z,21,0", "sensor"),
        ("2026-03-02T09:00:00Z,nan,48", "sensor"),
    ],
)
def test_a_row_that_cannot_be_is_refused_with_the_file(tmp_path, row, words):
    with pytest.raises(SheetError, match=words) as told:
        last_air(written(tmp_path, f"{HEADER}\n{row}\n"))
    assert "air.csv" in str(told.value)


def test_a_file_that_is_not_there_is_told_with_what_to_do(tmp_path):
    with pytest.raises(SheetError, match="air_file"):
        last_air(tmp_path / "none.csv")
