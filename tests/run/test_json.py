"""What programs read: one object a line, the shapes that DEVELOPERS.md tells, and nothing lost."""

import json
import re
from datetime import datetime, timedelta
from typing import Any

import pytest

from bayhelper.decide.replay import fold
from bayhelper.remember.codec import decode_decision, decode_event, plain_decision
from bayhelper.remember.history import History
from bayhelper.remember.journal import Journal
from bayhelper.run import selfcheck
from bayhelper.run.cli import main
from bayhelper.show.summary import summary
from tests.decide.stories import STORIES
from tests.decide.worker import Worker


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Every story of the bay, all recorded in one journal."""
    folder = tmp_path_factory.mktemp("stories")
    with Journal.open(folder) as journal:
        for number, story in enumerate(STORIES):
            worker = Worker(plan=story.plan)
            worker.do(*story.lines)
            for decision in worker.it.decisions:
                content: dict[str, Any] = plain_decision(decision)
                content["job"] = f"story-{number:02d}"
                for event in content["events"]:
                    event.update({"job": content["job"]} if event["type"] == "JobOpened" else {})
                journal.append(decode_decision(json.dumps(content)))
    return folder


@pytest.fixture
def rows(capsys):
    def lines_of(folder, *arguments, code=0):
        capsys.readouterr()
        assert main([*arguments, "--data", str(folder)]) == code
        return [json.loads(line) for line in capsys.readouterr().out.splitlines()]

    return lines_of


@pytest.fixture(scope="module")
def told(root):
    """The keys that DEVELOPERS.md tells, by command."""
    section = (root / "DEVELOPERS.md").read_text(encoding="utf-8").split("With `--json`")[1]
    table = re.findall(r"^\| (`[a-z`, ]+) \| ([^|]+) \|$", section, re.MULTILINE)
    return {
        name: set(re.findall(r"`([a-z_]+)`", text))
        for names, text in table
        for name in re.findall(r"`(\w+)`", names)
    }


def instants(value, name=""):
    """Every value whose name ends as an instant's does."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from instants(item, key)
    elif isinstance(value, list):
        for item in value:
            yield from instants(item, name)
    elif name.endswith("_utc") and value is not None:
        yield value


def test_jobs_and_show_print_the_same_and_what_is_told(folder, rows, told):
    jobs = rows(folder, "jobs", "--json")
    assert len(jobs) == len(STORIES)
    for job in jobs:
        assert rows(folder, "show", job["job"], "--json") == [job]
        assert set(job) == told["jobs"] - {"fault"} == told["show"] - {"fault"}


def test_export_comes_back_through_the_codec_whole(folder, rows, told):
    kinds = set()
    for job in rows(folder, "jobs", "--json"):
        lines = rows(folder, "export", job["job"], "--json")
        assert lines == rows(folder, "export", job["job"])
        assert all(set(line) <= told["export"] for line in lines)
        for line in lines:
            for event in line["events"]:
                assert told["export"] > {"type", "version", "at_utc", "by"} <= set(event)
                decode_event(event)
                kinds.add(event["type"])
        decisions = tuple(decode_decision(json.dumps(line)) for line in lines)
        with History.open(folder) as history:
            assert decisions == history.decisions(job["job"])
        assert summary(fold(decisions)) == job
    assert len(kinds) > 20


def test_instants_are_rfc_3339_in_utc_everywhere(folder, rows):
    """RFC 3339, section 5.6, with Z for UTC (section 4.3 leaves +00:00 as well)."""
    jobs = rows(folder, "jobs", "--json")
    exported = [line for job in jobs for line in rows(folder, "export", job["job"])]
    found = list(instants([jobs, exported]))
    assert len(found) > 100
    for text in found:
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z", text)
        assert datetime.fromisoformat(text).utcoffset() == timedelta(0)


def test_check_prints_what_is_told(tmp_path, rows, told, monkeypatch):
    for name in ("_grammars", "_ear", "_voice"):
        monkeypatch.setattr(selfcheck, name, lambda folder: "left out")
    for row in rows(tmp_path, "check", "--json"):
        assert set(row) == told["check"]
        assert row["state"] in ("ok", "warn", "bad")


def test_what_is_printed_needs_no_letters_beyond_ascii(tmp_path, capsys):
    """A pipe may have any encoding."""
    worker = Worker()
    with Journal.open(tmp_path) as journal:
        (opened,) = worker.it.decisions
        content: dict[str, Any] = plain_decision(opened)
        next(e for e in content["events"] if e["type"] == "JobOpened")["car"] = "grün, 雪"
        journal.append(decode_decision(json.dumps(content)))
    for command in (["jobs", "--json"], ["show", "j1", "--json"], ["export", "j1"]):
        assert main([*command, "--data", str(tmp_path)]) == 0
        out = capsys.readouterr().out
        assert out.isascii() and "\\u96ea" in out


def test_an_error_leaves_standard_output_empty(tmp_path, capsys):
    for command in (["show", "x", "--json"], ["export", "x", "--json"]):
        assert main([*command, "--data", str(tmp_path)]) == 1
        told = capsys.readouterr()
        assert told.out == "" and "no job 'x'" in told.err
