"""Air from settings and from a logger's file, in a job that is followed by typed lines."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta

import pytest

from bayhelper.decide.replay import fold
from bayhelper.remember.history import History
from bayhelper.run.cli import main
from bayhelper.sheets.air_watch import EVERY, AirWatch
from bayhelper.terms import events as ev

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


def row(at_utc, temp_c=21, rh=50):
    return f"{at_utc.isoformat()},{temp_c},{rh}\n"


def job_of(folder, monkeypatch, typed):
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    assert main(["work", "--typed", "--fast", "--data", str(folder)]) == 0
    with History.open(folder) as history:
        return fold(history.decisions(history.jobs()[-1]))


def test_a_file_is_looked_at_now_and_then(tmp_path):
    path = tmp_path / "air.csv"
    path.write_text(row(NOON))
    watch = AirWatch(path)
    first, fault = watch.look(NOON)
    assert first is not None and not fault
    assert watch.look(NOON + EVERY / 2) == (None, "")
    assert watch.look(NOON + EVERY)[0] == first


def test_what_is_wrong_with_it_is_told_once(tmp_path):
    watch = AirWatch(tmp_path / "none.csv")
    assert "air_file" in watch.look(NOON)[1]
    assert watch.look(NOON + EVERY) == (None, "")


def test_a_row_of_the_future_is_passed_over(tmp_path):
    path = tmp_path / "air.csv"
    path.write_text(row(NOON + timedelta(hours=1)))
    found, fault = AirWatch(path).look(NOON)
    assert found is None and "clock" in fault


def test_a_job_begins_with_the_air_of_the_settings(tmp_path, monkeypatch):
    (tmp_path / "settings.toml").write_text("air_c = 26.0\nhumidity_percent = 75.0\n")
    job = job_of(tmp_path, monkeypatch, "open a new job\n")
    assert (job.air_c, job.air_rh_percent) == (26.0, 75.0)


def test_a_loggers_row_is_recorded_with_its_own_time(tmp_path, monkeypatch):
    measured = datetime.now(UTC).replace(microsecond=0) - timedelta(minutes=5)
    log = tmp_path / "air.csv"
    log.write_text("time,temp_c,rh_percent\n" + row(measured, 24, 61))
    (tmp_path / "settings.toml").write_text(f'air_file = "{log}"\n')
    job = job_of(tmp_path, monkeypatch, "open a new job\nwait 1 minute\nwait 10 minutes\n")
    reads = [
        e
        for d in job.decisions
        for e in d.events
        if isinstance(e, ev.AirTempRead | ev.HumidityRead)
    ]
    assert len(reads) == 2
    assert {(e.source, e.measured_at_utc) for e in reads} == {("file", measured)}
    assert (job.air_c, job.air_rh_percent) == (24, 61)


@pytest.mark.parametrize(
    "line", ["air_c = -3.0", "humidity_percent = 120.0", "air_stale_min = 0.0"]
)
def test_air_that_cannot_be_is_refused(tmp_path, monkeypatch, capsys, line):
    (tmp_path / "settings.toml").write_text(f"{line}\n")
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main(["work", "--typed", "--fast", "--data", str(tmp_path)]) == 1
    assert "must be from" in capsys.readouterr().err
