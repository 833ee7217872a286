"""Advice on hidden days, a few of those that the benchmark has a hundred of."""

from __future__ import annotations

from statistics import median

from benchmarks.calibration import simulate


def test_advice_spoils_fewer_wipes_than_either_habit():
    scores = simulate(days=16, seed=7)
    advice = scores["advice"]
    assert 4 * advice.spoilt <= scores["fixed nominal"].spoilt
    assert advice.spoilt < scores["add a minute"].spoilt
    assert median(advice.errors) < 0.15
    assert sum(advice.covered) / len(advice.covered) >= 0.75
