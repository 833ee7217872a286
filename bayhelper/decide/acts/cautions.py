"""Cautions that a reading of air or surface brings: said when they begin, or grow worse."""

from __future__ import annotations

from collections.abc import Iterator

from bayhelper.decide.job.dew import near_dew_point
from bayhelper.decide.job.setting import spans
from bayhelper.decide.job.state import Job
from bayhelper.reckon.cure import Air, outside
from bayhelper.terms.saying import Saying
from bayhelper.terms.subjects import surfaces as say

WORSE_C = 1.0
"""A surface that comes nearer to the dew point by so much is told again."""


def cautions(before: Job, after: Job, panel: str) -> Iterator[Saying]:
    """What is new since the reading before: water that may settle, the sheet's range that is left.

    `panel` is the one that was measured; empty for the air and for the whole car.
    """
    was, now = near_dew_point(before), near_dew_point(after)
    worse = {p: c for p, c in now.items() if p not in was or c <= was[p] - WORSE_C}
    if worse:
        coldest, margin_c = min(worse.items(), key=lambda item: item[1])
        yield say.NearDewPointReply(panel=coldest, margin_c=round(margin_c, 1))
    known = _outside(before, panel)
    for what in _outside(after, panel):
        if what not in known:
            yield say.OutsideSheetReply(what=what, panel=panel)


def _outside(job: Job, panel: str) -> tuple[str, ...]:
    """What of the sheet's range is left; of a single reading what is missing is taken as fit."""
    product, known = job.product("coating"), spans(job, panel)
    if product is None:
        return ()
    if known:
        return outside(product, known[-1].air)
    middle_c = sum(product.air_c) / 2 if product.air_c else 20.0
    middle = sum(product.air_rh_percent) / 2 if product.air_rh_percent else 50.0
    air_c = middle_c if job.air_c is None else job.air_c
    return outside(product, Air(air_c, job.air_rh_percent or middle, job.panel_c.get(panel)))
