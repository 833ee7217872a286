"""A journal of every form that there ever was is read as the code that wrote it read it.

In `journals` lie journals as SQLite files, packed by gzip (`zcat NAME.sqlite3.gz` gives the file),
and beside each what its jobs came to: `bayhelper show JOB --json` by the code that wrote them. The
numbered ones hold every event of their time, in a job of two layers; `form_1_demo` is the spoken
demonstration. None of them is ever changed or taken away.

To add the next: change the form, raise `version` in the class, write the step from the version
before in `bayhelper/remember/upcasters.py`, then run

    python -m tests.remember.keep_journal form_3

with the next number, and look at both files before they are committed. A new event needs a line in
`keep_journal.py` that makes it. Until there is a journal of the new form, a test here fails.
"""

import gzip
import json
import sqlite3
from contextlib import closing

import pytest

from bayhelper.decide.replay import fold
from bayhelper.remember.codec import encode_event, event_types
from bayhelper.remember.history import History
from bayhelper.remember.journal import FILE_NAME, Journal
from bayhelper.show.summary import summary
from bayhelper.terms.body import Body
from bayhelper.terms.plan import Plan
from bayhelper.terms.product import Product
from tests.remember.keep_journal import JOURNALS

NAMES = sorted(file.name.removesuffix(".sqlite3.gz") for file in JOURNALS.glob("*.gz"))


def unpacked(name, folder):
    (folder / FILE_NAME).write_bytes(
        gzip.decompress((JOURNALS / f"{name}.sqlite3.gz").read_bytes())
    )
    return folder


def events_in(file):
    """The events of a journal as they stand in it."""
    with closing(sqlite3.connect(file)) as connection:
        for (line,) in connection.execute("SELECT content FROM decisions"):
            yield from json.loads(line)["events"]


def holds(now, then):
    """Whether everything that was told then is told now, and the same; more may be told."""
    if isinstance(then, dict):
        return isinstance(now, dict) and all(k in now and holds(now[k], then[k]) for k in then)
    if isinstance(then, list):
        same = isinstance(now, list) and len(now) == len(then)
        return same and all(holds(one, was) for one, was in zip(now, then, strict=True))
    return now == then


def test_the_first_forms_are_still_here():
    assert {"form_1", "form_1_demo", "form_2"} <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_its_jobs_come_to_what_they_came_to(name, tmp_path):
    was = json.loads((JOURNALS / f"{name}.json").read_text(encoding="utf-8"))
    with History.open(unpacked(name, tmp_path)) as history:
        now = {job: summary(fold(history.decisions(job))) for job in history.jobs()}
        assert history.damage() is None
    assert set(now) == set(was)
    for job, state in was.items():
        plain = json.loads(json.dumps(now[job]))
        wrong = {key for key in state if key not in plain or not holds(plain[key], state[key])}
        assert not wrong, job


@pytest.mark.parametrize("name", NAMES)
def test_a_job_in_it_goes_on_and_is_read_to_its_end(name, tmp_path):
    folder = unpacked(name, tmp_path)
    with History.open(folder) as history:
        (job,) = history.jobs()
        before = history.decisions(job)
    more = type(before[-1])(
        job=job, number=len(before) + 1, at_utc=before[-1].at_utc, cause="repair"
    )
    with Journal.open(folder) as journal:
        journal.append(more)
    with History.open(folder) as history:
        assert history.decisions(job) == (*before, more)


def test_every_version_that_is_written_now_is_in_a_kept_journal(tmp_path):
    kept = set()
    for name in NAMES:
        for event in events_in(unpacked(name, tmp_path) / FILE_NAME):
            kept.add((event["type"], event["version"]))
            if event["type"] == "JobOpened" and event["version"] > 1:
                kept |= {("Plan", event["plan"]["version"]), ("Body", event["body"]["version"])}
                kept |= {("Product", product["version"]) for product in event["products"]}
    now = {(name, kind.version) for name, kind in event_types().items()}
    now |= {(sheet.__name__, sheet.version) for sheet in (Plan, Body, Product)}
    assert now <= kept


def test_what_is_read_from_an_old_form_is_written_in_the_new_one(tmp_path):
    with History.open(unpacked("form_1", tmp_path)) as history:
        opened = history.decisions("j1")[0].events[0]
    (was,) = (e for e in events_in(tmp_path / FILE_NAME) if e["type"] == "JobOpened")
    now = json.loads(json.dumps(encode_event(opened)))
    assert (was["version"], now["version"]) == (1, 2)
    for key in ("plan", "body"):
        assert now[key] == {"version": 1, **was[key]}
    assert now["products"] == [{"version": 1, **product} for product in was["products"]]
    rest = {"version", "plan", "body", "products"}
    assert {k: v for k, v in now.items() if k not in rest} == {
        k: v for k, v in was.items() if k not in rest
    }
