"""A wall clock that is set while a job is followed live: ages stay right, and it is recorded."""

import io
import time
from datetime import UTC, timedelta

import pytest

from bayhelper.decide.replay import fold
from bayhelper.hear.typed import typed_utterances
from bayhelper.remember.history import History
from bayhelper.run.bay.session import open_job, open_session
from bayhelper.run.bay.timekeeping import clock_after
from bayhelper.run.cli import main
from bayhelper.run.commands.work import follow as follow_lines
from bayhelper.run.parts import TypedEar, build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.show.record import record
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.events import ClockSet, Spoken
from bayhelper.understand.sample import canonical

ON = (
    "open a new job",
    "start the wash",
    "start inspection",
    "start the panel wipe",
    "roof prepped",
    "start coating",
    "roof is on all round",
)


@pytest.fixture
def follow(tmp_path):
    """Follows lines live, as `work --typed` does; what is no line is done, and then noticed."""

    def eventually(test):
        end_s = time.monotonic() + 10
        while not test():
            assert time.monotonic() < end_s, "the loop did not come round"
            time.sleep(0.01)

    def one(*steps):
        clock, set_back_s = clock_after(open_job(tmp_path))
        terminal = io.StringIO()
        with open_session(
            tmp_path,
            Settings(plan="coat_only"),
            ear=TypedEar(),
            player=FolderPlayer(tmp_path / "prompts"),
            clock=clock,
            terminal=terminal,
        ) as session:

            def source():
                for step in steps:
                    told = len(terminal.getvalue())
                    if callable(step):
                        step()
                    else:
                        yield from typed_utterances([step])
                    eventually(lambda told=told: len(terminal.getvalue()) > told)

            if set_back_s:
                session.bay.clock_set(-set_back_s, clock.now_utc())
            follow_lines(source(), session, clock)
        return terminal.getvalue()

    return one


def jobs(folder):
    with History.open(folder) as history:
        return [fold(history.decisions(name)) for name in history.jobs()]


def spoken(job):
    return [e.text for d in job.decisions for e in d.events if isinstance(e, Spoken)]


@pytest.mark.parametrize("hours", [1, -1])
def test_a_panel_keeps_its_age_when_the_clock_is_set(follow, wall, tmp_path, hours):
    def set_clock():
        wall.shift += timedelta(hours=hours)

    way = "forward" if hours > 0 else "back"
    seen = follow(*ON, set_clock, "how long has the roof had")
    assert f"! The computer's clock was set {way} by 3600 s. The times of this job go on" in seen
    (job,) = jobs(tmp_path)
    assert spoken(job)[-1].startswith("Roof") and "five seconds" in spoken(job)[-1]
    steps = [e.step_s for d in job.decisions for e in d.events if isinstance(e, ClockSet)]
    assert steps == pytest.approx([3600 * hours], abs=0.5)
    assert not job.alerts, "nothing fell due in these seconds"
    assert f"Clock      was set {way} by 3600 s" in record(job, UTC)
    follow("how long has the roof had")
    (job,) = jobs(tmp_path)
    assert "five seconds" in spoken(job)[-1], "after a restart as well"
    assert job.wall_ahead_s == pytest.approx(3600 * hours, abs=0.5)


@pytest.mark.parametrize("hours", [1, -1])
def test_the_next_job_is_written_with_the_time_that_the_clock_says(follow, wall, tmp_path, hours):
    def set_clock():
        wall.shift += timedelta(hours=hours)

    close = dict(canonical(build_library().offer(build_scope(Settings()))))["close_job"]
    follow("open a new job", set_clock, close, "yes please", "open a new job")
    first, second = jobs(tmp_path)[:: 1 if hours > 0 else -1]
    assert first.wall_ahead_s == pytest.approx(3600 * hours, abs=0.5)
    assert second.wall_ahead_s == 0
    told = (second.opened_at_utc - first.opened_at_utc).total_seconds()
    assert told == pytest.approx(3600 * hours, abs=5)


def test_without_a_job_a_clock_that_was_set_is_told_and_followed(follow, wall, tmp_path):
    def set_clock():
        wall.shift -= timedelta(days=400)

    seen = follow(set_clock, "open a new job")
    assert "clock was set back by" in seen and "times of this job" not in seen
    (job,) = jobs(tmp_path)
    assert abs((job.opened_at_utc - wall.now(UTC)).total_seconds()) < 5


def test_a_clock_that_lost_its_time_between_two_sessions_makes_no_panel_younger(
    follow, wall, tmp_path
):
    follow(*ON)
    wall.shift -= timedelta(hours=3)
    seen = follow("how long has the roof had")
    assert "clock was set back by 10" in seen
    (job,) = jobs(tmp_path)
    assert "five seconds" in spoken(job)[-1]
    assert job.wall_ahead_s == pytest.approx(-3 * 3600, abs=5)
    times = [decision.at_utc for decision in job.decisions]
    assert times == sorted(times)
    before = job.wall_ahead_s
    follow("how long has the roof had")
    (job,) = jobs(tmp_path)
    assert job.wall_ahead_s == before and "five seconds" in spoken(job)[-1]


def test_typed_sessions_with_a_clock_of_their_own_go_on_one_after_the_other(tmp_path, monkeypatch):
    for lines in (
        "open a new job\nwait 2 hours\nair temperature 21 degrees",
        "humidity 50 percent",
    ):
        monkeypatch.setattr("sys.stdin", io.StringIO(lines + "\n"))
        assert main(["work", "--typed", "--fast", "--data", str(tmp_path)]) == 0
    (job,) = jobs(tmp_path)
    times = [decision.at_utc for decision in job.decisions]
    assert times == sorted(times) and job.air_rh_percent == 50
    assert job.wall_ahead_s == 0
