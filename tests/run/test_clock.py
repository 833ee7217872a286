"""Clocks, held against the kernel's own account of time where there is one."""

import time
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from bayhelper.run import clock as clock_module
from bayhelper.run.clock import ManualClock, SystemClock, pause, processor_s, steady_s
from bayhelper.terms.errors import RunError

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.mark.parametrize("hours", [1, -1])
def test_a_wall_clock_that_was_set_is_noticed(wall, hours):
    clock = SystemClock()
    assert abs(clock.disagreement_s()) < 0.5
    before_utc = clock.now_utc()
    wall.shift = timedelta(hours=hours)
    assert clock.disagreement_s() == pytest.approx(3600 * hours, abs=0.5)
    assert 0 <= (clock.now_utc() - before_utc).total_seconds() < 0.5
    assert clock.set_s() == pytest.approx(3600 * hours, abs=0.5)
    assert clock.set_s() == 0
    wall.shift += timedelta(seconds=0.9)
    assert clock.set_s() == 0


@pytest.mark.parametrize("hours", [1, -1])
def test_the_wall_clock_is_followed_when_that_is_asked(wall, hours):
    clock = SystemClock()
    assert clock.follow_wall() == 0
    wall.shift = timedelta(hours=hours)
    assert clock.follow_wall() == pytest.approx(3600 * hours, abs=0.5)
    assert abs((clock.now_utc() - wall.now(UTC)).total_seconds()) < 0.5
    assert clock.set_s() == clock.follow_wall() == 0


def test_a_clock_that_was_set_in_a_job_goes_on_after_a_restart_as_it_was(wall):
    clock = SystemClock(wall_ahead_s=3600)
    assert abs((wall.now(UTC) - clock.now_utc()).total_seconds() - 3600) < 0.5
    assert clock.set_s() == 0
    wall.shift = timedelta(hours=-1)
    assert clock.set_s() == pytest.approx(-3600, abs=0.5)


def test_a_machine_that_slept_is_no_disagreement(wall, monkeypatch):
    clock = SystemClock()
    real = clock_module.steady_s
    before_utc = clock.now_utc()
    monkeypatch.setattr(clock_module, "steady_s", lambda: real() + 7200)
    wall.shift = timedelta(hours=2)
    assert abs(clock.disagreement_s()) < 0.5 and clock.set_s() == 0
    assert (clock.now_utc() - before_utc).total_seconds() == pytest.approx(7200, abs=0.5)


@pytest.mark.skipif(not Path("/proc/uptime").exists(), reason="needs /proc")
def test_the_steady_clock_counts_through_sleep_as_the_kernel_does():
    """proc(5): the first figure of /proc/uptime is the uptime, time spent in suspend included."""
    uptime_s = float(Path("/proc/uptime").read_text().split()[0])
    assert steady_s() == pytest.approx(uptime_s, abs=0.5)


def test_a_system_without_that_clock_still_has_one_that_never_goes_back(monkeypatch):
    monkeypatch.delattr(time, "CLOCK_BOOTTIME", raising=False)
    readings = [steady_s() for _ in range(100)]
    assert readings == sorted(readings)


def test_the_system_clock_tells_utc():
    now_utc = SystemClock().now_utc()
    assert now_utc.utcoffset() == timedelta(0)
    assert now_utc.timestamp() == pytest.approx(time.time(), abs=0.5)


def test_a_manual_clock_goes_only_forward():
    clock = ManualClock(START)
    clock.advance(90.5)
    assert clock.now_utc() == START + timedelta(seconds=90.5)
    clock.set_utc(clock.now_utc())
    zone = timezone(timedelta(hours=2))
    clock.set_utc(datetime(2026, 3, 2, 10, 5, tzinfo=zone))
    assert clock.now_utc() == START + timedelta(minutes=5)
    for back in (START, START + timedelta(minutes=4, seconds=59)):
        with pytest.raises(RunError, match="cannot go"):
            clock.set_utc(back)
    with pytest.raises(RunError, match="cannot go"):
        clock.advance(-1)


def test_processor_time_counts_work_and_not_waiting():
    began_s = processor_s()
    pause(0.2)
    waited_s = processor_s() - began_s
    sum(range(3_000_000))
    assert waited_s < 0.1
    assert processor_s() - began_s > waited_s


def test_a_pause_of_nothing_or_less_is_none():
    began_s = steady_s()
    pause(-5)
    pause(0)
    assert steady_s() - began_s < 0.5
