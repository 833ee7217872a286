"""Damaged, foreign and newer journals: what is wrong is said, and the rest stays readable."""

import json
import sqlite3
from dataclasses import replace
from datetime import timedelta

import pytest

from bayhelper.remember.codec import decode_decision, encode_decision
from bayhelper.remember.history import History
from bayhelper.remember.journal import FILE_NAME, Journal
from bayhelper.run.bay.session import open_job
from bayhelper.run.cli import main
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import JobOpened
from tests.decide.worker import Worker
from tests.known import known

JOBS = ("2026-03-02-a", "2026-03-02-b", "2026-03-02-c")


def decisions_of(job, days):
    """A real job, decided by the real tables, under another id and on another day."""
    worker = Worker()
    worker.do("start_stage stage=wash", "start_stage stage=decontamination")
    worker.do("start_dwell agent=iron_remover", "wait 600")
    worker.do(*("set_air_temp temp_c=21.0",) * 60)
    later = timedelta(days=days)
    first, *rest = worker.it.decisions
    opened = tuple(replace(e, job=job) if isinstance(e, JobOpened) else e for e in first.events)
    return [
        replace(d, job=job, at_utc=d.at_utc + later) for d in (replace(first, events=opened), *rest)
    ]


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """Three jobs in one file, as bytes."""
    folder = tmp_path_factory.mktemp("whole")
    with Journal.open(folder) as journal:
        for days, job in enumerate(JOBS):
            for decision in decisions_of(job, days):
                journal.append(decision)
    return (folder / FILE_NAME).read_bytes()


@pytest.fixture
def folder(tmp_path, whole):
    (tmp_path / FILE_NAME).write_bytes(whole)
    return tmp_path


def run(capsys, folder, *arguments):
    capsys.readouterr()
    code = main([*arguments, "--data", str(folder)])
    told = capsys.readouterr()
    return code, told.out, told.err


def change(folder, sql, *values):
    connection = sqlite3.connect(folder / FILE_NAME)
    with connection:
        assert connection.execute(sql, values).rowcount == 1
    connection.close()


def content_of(folder, job, number):
    connection = sqlite3.connect(folder / FILE_NAME)
    (row,) = connection.execute(
        "SELECT content FROM decisions WHERE job = ? AND number = ?", (job, number)
    )
    connection.close()
    return row[0]


def test_undamaged_all_is_read(folder, capsys):
    code, out, _ = run(capsys, folder, "jobs")
    assert code == 0 and [line.split()[0] for line in out.splitlines()] == list(JOBS)
    with History.open(folder) as history:
        assert history.damage() is None


def spoilt(edit):
    """A change of the JSON of one decision."""

    def harm(folder):
        content = json.loads(content_of(folder, JOBS[1], 3))
        edit(content)
        change(
            folder,
            "UPDATE decisions SET content = ? WHERE job = ? AND number = 3",
            json.dumps(content),
            JOBS[1],
        )

    return harm


def row(sql, *values):
    return lambda folder: change(folder, f"{sql} WHERE job = ? AND number = 3", *values, JOBS[1])


ROWS = {
    "no JSON": (row("UPDATE decisions SET content = '{\"job\": '"), "is no decision"),
    "no object": (row("UPDATE decisions SET content = '[]'"), "is no decision"),
    "no text": (row("UPDATE decisions SET content = CAST(x'7bff7d' AS TEXT)"), "is no text"),
    "missing": (row("DELETE FROM decisions"), "it is missing"),
    "of another": (
        row("UPDATE decisions SET content = replace(content, '-b', '-c')"),
        "holds decision 3 of job 2026-03-02-c",
    ),
    "unknown event": (
        spoilt(lambda c: c["events"][0].update(type="MirrorMended")),
        "does not know",
    ),
    "newer event": (spoilt(lambda c: c["events"][0].update(version=2)), "in version 2"),
    "wrong field": (spoilt(lambda c: c["events"][0].update(stage=4)), "fields it should"),
}


@pytest.mark.parametrize("harm", ROWS)
def test_one_bad_decision_spoils_no_other_job_and_is_named(folder, capsys, harm):
    spoil, reason = ROWS[harm]
    with History.open(folder) as history:
        before = history.decisions(JOBS[1])
    spoil(folder)
    code, out, _ = run(capsys, folder, "jobs", "--json")
    rows = [json.loads(line) for line in out.splitlines()]
    assert code == 1 and [r["job"] for r in rows] == list(JOBS)
    assert rows[0]["decisions"] == rows[2]["decisions"] == len(before)
    where = f"{folder / FILE_NAME}, job {JOBS[1]}, decision 3"
    assert where in rows[1]["fault"] and reason in rows[1]["fault"]
    code, out, _ = run(capsys, folder, "jobs")
    assert code == 1 and where in out and len(out.splitlines()) == 3
    code, out, err = run(capsys, folder, "show", JOBS[1])
    assert (code, out) == (1, "")
    assert where in err and reason in err and f"'bayhelper export {JOBS[1]}'" in err
    code, out, err = run(capsys, folder, "export", JOBS[1])
    kept = tuple(decode_decision(line) for line in out.splitlines())
    assert code == 1 and where in err
    assert kept == tuple(d for d in before if d.number != 3)
    for other in (JOBS[0], JOBS[2]):
        assert run(capsys, folder, "show", other)[0] == 0
        assert run(capsys, folder, "export", other)[0] == 0


@pytest.mark.parametrize("share", [0.1, 0.3, 0.5, 0.7, 0.9])
@pytest.mark.parametrize("harm", ["cut", "overwritten"])
def test_a_file_with_lost_pages_gives_what_the_others_hold(folder, capsys, whole, share, harm):
    """No job is shown that is not as it was, and what cannot be read is said to be lost."""
    with History.open(folder) as history:
        before = {job: history.decisions(job) for job in JOBS}
    at = int(len(whole) * share) // 4096 * 4096
    if harm == "cut":
        (folder / FILE_NAME).write_bytes(whole[:at])
    else:
        (folder / FILE_NAME).write_bytes(whole[:at] + b"\xa5" * 4096 + whole[at + 4096 :])
    code, out, err = run(capsys, folder, "jobs", "--json")
    assert code == 1 and str(folder / FILE_NAME) in out + err and "estore" in out + err
    for job in JOBS:
        code, out, err = run(capsys, folder, "export", job)
        kept = [decode_decision(line) for line in out.splitlines()]
        assert set(map(encode_decision, kept)) <= set(map(encode_decision, before[job]))
        assert (code == 0) == (tuple(kept) == before[job])
        assert code == 0 or str(folder / FILE_NAME) in err
        assert run(capsys, folder, "show", job)[0] == code


def test_the_jobs_before_and_behind_a_lost_page_are_found(folder, capsys, whole):
    """Some page between the first and the last holds the middle job's rows only."""
    pages = len(whole) // 4096
    seen = set()
    for page in range(1, pages):
        spoilt_file = whole[: page * 4096] + b"\xa5" * 4096 + whole[(page + 1) * 4096 :]
        (folder / FILE_NAME).write_bytes(spoilt_file)
        codes = tuple(run(capsys, folder, "show", job)[0] for job in JOBS)
        seen.add(codes)
    assert {(0, 1, 0), (1, 0, 0), (0, 0, 1)} <= seen


def strange(sql):
    def harm(folder):
        connection = sqlite3.connect(folder / FILE_NAME)
        with connection:
            connection.execute(sql)
        connection.close()

    return harm


def foreign(folder):
    (folder / FILE_NAME).unlink()
    strange("CREATE TABLE recipes (name TEXT)")(folder)


def no_database(folder):
    (folder / FILE_NAME).write_bytes(b"this is no database " * 300)


def emptied(folder):
    (folder / FILE_NAME).write_bytes(b"")
    (folder / "clips").mkdir()


FILES = {
    "no database": (no_database, "not a database"),
    "another program's": (foreign, "another program: expected a table 'steps', found recipes"),
    "newer": (strange("INSERT INTO steps VALUES ('paint_shop')"), "newer version"),
}


@pytest.mark.parametrize("harm", FILES)
def test_what_is_no_journal_of_this_version_is_refused_and_not_touched(folder, capsys, harm):
    spoil, reason = FILES[harm]
    spoil(folder)
    before = (folder / FILE_NAME).read_bytes()
    for command in (["jobs"], ["show", JOBS[0]], ["export", JOBS[0]], ["jobs", "--json"]):
        code, out, err = run(capsys, folder, *command)
        assert (code, out) == (1, "")
        assert str(folder / FILE_NAME) in err and reason in err
    with pytest.raises(RecordError, match=reason), Journal.open(folder):
        pass
    assert (folder / FILE_NAME).read_bytes() == before


def test_an_emptied_journal_is_not_taken_for_a_new_one(folder):
    emptied(folder)
    with pytest.raises(RecordError, match="is empty, but clips"), Journal.open(folder):
        pass


def test_a_file_that_sqlite_only_just_made_is_a_new_journal(tmp_path, capsys):
    (tmp_path / FILE_NAME).write_bytes(b"")
    assert run(capsys, tmp_path, "jobs")[:2] == (0, "No jobs yet.\n")
    with Journal.open(tmp_path) as journal:
        journal.append(decisions_of(JOBS[0], 0)[0])
    assert run(capsys, tmp_path, "jobs")[0] == 0


def test_work_goes_on_past_an_old_job_that_is_bad_but_not_past_the_last(folder):
    change(folder, "UPDATE decisions SET content = '' WHERE job = ? AND number = 3", JOBS[0])
    assert known(open_job(folder)).id == JOBS[2]
    change(folder, "UPDATE decisions SET content = '' WHERE job = ? AND number = 3", JOBS[2])
    with pytest.raises(RecordError, match=f"job {JOBS[2]}, decision 3"):
        open_job(folder)
