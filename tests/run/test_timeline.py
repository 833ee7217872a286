"""A timeline has lines of three kinds and no others, whatever happened."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from bayhelper.show.timeline import Timeline
from bayhelper.terms.events import DefectFound, StageStarted
from bayhelper.terms.subjects.wiping import LevelledReply

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def test_no_field_takes_the_place_of_the_kind_of_line(tmp_path):
    file = tmp_path / "timeline.jsonl"
    timeline = Timeline(AT, file)
    timeline.event(StageStarted(at_utc=AT, stage="coating"), AT)
    timeline.event(DefectFound(at_utc=AT, panel="roof", kind="high_spot"), AT)
    timeline.said(AT, LevelledReply(panel="roof", half=""), "Roof level.", "a.wav", 1.0)
    timeline.tone(AT, "soft")
    timeline.close()
    lines = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    assert [line["kind"] for line in lines] == ["event", "event", "said", "said"]
    assert lines[1]["defect"] == "high_spot"
    assert lines[2]["manner"] == "reply"
