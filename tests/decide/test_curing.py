"""What the car must be kept from, and until when."""

from datetime import timedelta

import pytest

from bayhelper.decide.job.curing import kept_until
from bayhelper.terms.subjects.job import KeepReply
from tests.decide.stories import TO_COATING
from tests.decide.worker import Worker, says

ROOF = (
    "prepped panel=roof", "laying panel=roof", "wait 60", "covered panel=roof all_round=true",
    "wait 300", "levelled panel=roof all_round=true", "buffed panel=roof",
)  # fmt: skip


def coated():
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING, *ROOF)
    return worker


def test_it_counts_from_the_last_panel_that_was_buffed():
    worker = coated()
    buffed_utc = worker.now_utc
    worker.do("wait 7200", "start_stage stage=cure")
    assert [(k.keep.rule, k.until_utc - buffed_utc) for k in kept_until(worker.it)] == [
        ("Keep dry and free of dust", timedelta(hours=24)),
        ("No washing", timedelta(days=7)),
    ]


def test_before_anything_is_buffed_nothing_is_promised():
    worker = Worker("coat_only", "saloon")
    worker.do(*TO_COATING)
    assert kept_until(worker.it) == ()


def test_the_voice_tells_it_when_the_cure_begins():
    worker = coated()
    worker.do("wait 7200")
    said = [s for s in says(worker.say("start_stage stage=cure")) if isinstance(s, KeepReply)]
    assert [s.rule for s in said] == ["Keep dry and free of dust", "No washing"]
    assert said[0].for_s == pytest.approx(22 * 3600)
