"""Events to disk and back; what append returned from survives anything."""

import dataclasses
import json
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bayhelper.remember.clips import Clips
from bayhelper.remember.codec import (
    decode_decision,
    decode_event,
    encode_decision,
    encode_event,
    event_types,
)
from bayhelper.remember.history import History
from bayhelper.remember.journal import Journal
from bayhelper.terms import events as ev
from bayhelper.terms.errors import RecordError
from bayhelper.terms.sound import Sound

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
st.register_type_strategy(
    datetime, st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC))
)
st.register_type_strategy(float, st.floats(-1e6, 1e6, allow_nan=False))


def decision(number, job="2026-03-02-a"):
    events = (ev.AirTempRead(at_utc=NOON, temp_c=float(number)),)
    return ev.Decision(job=job, number=number, at_utc=NOON, cause="command", events=events)


@pytest.mark.parametrize("name", list(event_types()))
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_every_event_comes_back_and_takes_no_unknown_field(name, data):
    event = data.draw(st.builds(event_types()[name]))
    content = json.loads(json.dumps(encode_event(event)))
    assert decode_event(content) == event
    with pytest.raises(RecordError, match="does not have the fields"):
        decode_event(content | {"colour": "green"})


@pytest.mark.parametrize("name", list(event_types()))
def test_unknown_versions_are_refused(name):
    content = {"type": name, "version": event_types()[name].version + 1}
    with pytest.raises(RecordError, match="version"):
        decode_event(content)


def test_wrong_types_are_refused():
    good = encode_event(ev.AirTempRead(at_utc=NOON, temp_c=20.0))
    for bad in ("20", None, True):
        with pytest.raises(RecordError):
            decode_event(good | {"temp_c": bad})
    with pytest.raises(RecordError):
        decode_event(good | {"at_utc": "2026-03-02T12:00:00"})
    with pytest.raises(RecordError, match="does not know"):
        decode_event(good | {"type": "Mystery"})


def test_times_are_written_as_rfc_3339_in_utc():
    """RFC 3339, section 5.6."""
    assert encode_event(ev.PadCleaned(at_utc=NOON))["at_utc"] == "2026-03-02T12:00:00Z"


def test_decisions_come_back(tmp_path):
    with Journal.open(tmp_path) as journal:
        for number in (1, 2, 3):
            journal.append(decision(number))
        with History.open(tmp_path) as history:
            assert history.decisions("2026-03-02-a") == tuple(map(decision, (1, 2, 3)))
            assert history.jobs() == ("2026-03-02-a",)
            with pytest.raises(RecordError, match="no job 'x'"):
                history.decisions("x")
        assert journal.next_job_id(NOON) == "2026-03-02-b"
    assert decode_decision(encode_decision(decision(1))) == decision(1)


def test_a_gap_is_refused_and_nothing_is_overwritten(tmp_path):
    with Journal.open(tmp_path) as journal:
        journal.append(decision(1))
        for wrong in (1, 3):
            with pytest.raises(RecordError, match="2 is next"):
                journal.append(decision(wrong))
        journal.append(decision(2))


def test_a_full_disk_is_said_and_what_came_before_is_kept(tmp_path):
    with Journal.open(tmp_path) as journal:
        journal.append(decision(1))
        pages = journal._connection.execute("PRAGMA page_count").fetchone()[0]
        journal._connection.execute(f"PRAGMA max_page_count = {pages}")
        long = dataclasses.replace(decision(2), command="x" * 100_000)
        with pytest.raises(RecordError, match=r"took no more.*full"):
            journal.append(long)
        journal._connection.execute("PRAGMA max_page_count = 100000")
        journal.append(decision(2))
        with History.open(tmp_path) as history:
            assert [d.number for d in history.decisions("2026-03-02-a")] == [1, 2]


def test_a_second_writer_is_refused(tmp_path):
    with (
        Journal.open(tmp_path),
        pytest.raises(RecordError, match="Another bayhelper"),
        Journal.open(tmp_path),
    ):
        pass


def test_what_is_no_journal_is_explained(tmp_path):
    (tmp_path / "bay.sqlite3").write_bytes(b"this is no database" * 100)
    with pytest.raises(RecordError, match="no usable journal"), Journal.open(tmp_path):
        pass
    with pytest.raises(RecordError, match="cannot be read"), History.open(tmp_path):
        pass
    (tmp_path / "file").write_text("")
    with pytest.raises(RecordError, match="--data"), Journal.open(tmp_path / "file"):
        pass


WRITER = """
import sys
from pathlib import Path
sys.path.insert(0, {tests!r})
from test_journal import decision
from bayhelper.remember.journal import Journal
with Journal.open(Path({folder!r})) as journal:
    for number in range(1, 100000):
        journal.append(decision(number))
        print(number, flush=True)
"""


def test_a_killed_writer_loses_nothing_that_it_acknowledged(tmp_path):
    for wait_s in (0.05, 0.3):
        folder = tmp_path / str(wait_s)
        code = WRITER.format(tests=str(Path(__file__).parent), folder=str(folder))
        with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE) as child:
            assert child.stdout is not None
            first = child.stdout.readline()
            time.sleep(wait_s)
            child.send_signal(signal.SIGKILL)
            lines = [first, *child.stdout.read().splitlines()]
        told = max(int(line) for line in lines if line.strip())
        with Journal.open(folder) as journal, History.open(folder) as history:
            kept = history.decisions("2026-03-02-a")
            assert [d.number for d in kept] == list(range(1, len(kept) + 1))
            assert len(kept) >= told
            journal.append(decision(len(kept) + 1))


def test_clips_are_kept_whole_and_never_overwritten(tmp_path):
    clips = Clips(tmp_path)
    sound = Sound(np.arange(1600, dtype="<i2").tobytes(), 16_000)
    first, second = (clips.keep("j", "u1", sound) for _ in range(2))
    assert first.name != second.name
    assert clips.read("j", first.name) == sound
    assert not list(tmp_path.rglob("*.part"))
    with pytest.raises(RecordError, match="cannot be read"):
        clips.read("j", "gone.flac")


def test_every_event_is_frozen():
    for kind in event_types().values():
        assert dataclasses.fields(kind) and vars(kind)["__dataclass_params__"].frozen
