"""Today's window from trial wipes: a Bayesian update on a grid.

Unknown are the day's factor (on every time of the sheet), and how the early and the late edge stand
to the best time. A report is ordinal: wet before the early edge, grabbing past the late one, clean
between. A share of reports is taken to be simply wrong. Reports weigh less the older they are and
the more the air has changed since. The late edge is moved by grabbing alone, and only inwards: a
panel that wiped clean late is no leave to wait longer, and nobody is ever asked to seek that edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import exp, log, sqrt
from typing import Literal

import numpy as np

from bayhelper.reckon.cure import Factors
from bayhelper.reckon.distribution import Floats, marginal, normal_cdf, quantile
from bayhelper.terms.errors import ReckonError
from bayhelper.terms.product import SettingTimes

Result = Literal["wet", "clean", "grabbing"]

COVERAGE = 0.9
"""Share of days on which the true best time should lie in the interval given (chosen);
benchmarks/results/calibration.md tells what simulated days come to."""
WRONG_SHARE = 0.08
"""Share of reports that say nothing: misjudged or misheard. Supposed, not measured; the simulated
days have 5 to 10 %."""
ODD_SHARE, ODD_SD = 0.1, 2.5
"""Share of days that are unlike the sheet's, and by how many times its uncertainty they vary
(supposed, not measured): a wide tail, so that trials can win against a sheet that is far off."""
EDGE_LOG_SD = 0.06
"""How sharp an edge is: panels of one day differ by so much (natural logarithm; supposed,
not measured)."""
EARLY_LOG_SD = 0.08
"""How far the early edge may stand from the sheet's share of the best time (natural
logarithm; supposed, not measured)."""
HALF_LIFE_S = 2 * 3600.0
"""A report this old weighs half: a morning's reports still count at noon (chosen)."""
AIR_LOG_SCALE = 0.5
"""A report from air in which the film set exp(this) times as fast weighs 1/e (chosen)."""
LEAST_WEIGHT = 0.1
"""Reports that weigh less contradict nobody any more (chosen)."""
SAME_LOG = 0.05
"""Ages closer than this (natural logarithm) contradict nobody: panels differ by
about EDGE_LOG_SD."""
MOST_CONFLICTS = 5
"""So many contradicting reports are looked at one by one; with more, the sheet counts again.
Each doubles the work: five make 32 views (chosen)."""

FACTOR_LOG: Floats = np.linspace(-1.6, 1.6, 321)
"""Grid of the day's factor (natural logarithm): a fifth to five times the sheet's times, in steps
of one per cent (chosen: far wider than any uncertainty a sheet may state)."""
EARLY_LOG: Floats = np.linspace(-0.2, 0.2, 9)
"""Grid of the early edge against the best time: two and a half times EARLY_LOG_SD either way."""
LATE_LOG: Floats = np.linspace(-0.45, 0.0, 10)
"""Grid of the late edge: inwards alone, by the most that a sheet's uncertainty may be."""


@dataclass(frozen=True)
class TrialReport:
    """One trial wipe, as it was reported."""

    result: Result
    """How the towel went."""
    cure_s: float
    """Cure since the last stroke, seconds of the reference air."""
    from_first_s: float | None = None
    """Cure since the first stroke, which counts for grabbing; None for the same."""
    rate: float = 1.0
    """Mean rate of cure that it had (reference air: 1)."""
    age_s: float = 0.0
    """How long ago it was made, seconds."""

    @property
    def late_s(self) -> float:
        """Cure since the first stroke, seconds of the reference air."""
        return self.cure_s if self.from_first_s is None else self.from_first_s


@dataclass(frozen=True)
class Day:
    """What the reports say about today."""

    factors: Factors
    """By how much each figure of the sheet is to be multiplied."""
    low: float
    """Lower end of the interval of the factor on the best time, with COVERAGE."""
    high: float
    """Its upper end."""
    reports: int
    """How many there were."""
    bracketed: bool
    """Whether a clean one followed a wet one, so that the day's figure is known."""
    contradictory: bool
    """Whether reports contradict each other; then everything is wider."""


def calibrate(
    setting: SettingTimes, reports: Sequence[TrialReport], *, rate: float = 1.0, spread: float = 0.0
) -> Day:
    """Today's factors for the present air; the order of the reports does not matter.

    `rate` and `spread` are those of the present air (reckon.cure). Without reports every factor
    is 1. Raises ReckonError for a report without an age or with a result that is none.
    """
    for report in reports:
        if report.result not in ("wet", "clean", "grabbing") or not report.cure_s > 0:
            raise ReckonError(
                "A trial wipe must be wet, clean or grabbing, at an age above 0, but is "
                f"{report.result!r} at {report.cure_s:g} s. TrialReport another one."
            )
    prior = _prior(setting, spread)
    if not reports:
        low, high = _interval(marginal(prior, 0))
        return Day(Factors(), low, high, 0, bracketed=False, contradictory=False)
    kept = sorted(reports, key=lambda r: (r.age_s, r.cure_s, r.result, r.late_s, r.rate))
    weights = [_weight(report, rate) for report in kept]
    evidence = [w * _log_likelihood(setting, r) for w, r in zip(weights, kept, strict=True)]
    grabbed = any(report.result == "grabbing" for report in kept)
    conflicts = _conflicts(kept, weights)
    brackets = [_bracket(kept, weights, dropped) for dropped in _subsets(conflicts)]
    views = [_view(prior, evidence, dropped, grabbed) for dropped in _subsets(conflicts)]
    earliest = min(
        _between(view.early * setting.earliest_s, bracket) / setting.earliest_s
        for view, bracket in zip(views, brackets, strict=True)
    )
    if len(conflicts) > MOST_CONFLICTS:
        views.append(_view(prior, [], (), grabbed=False))
    first = views[0]
    low, high = min(v.low for v in views), max(v.high for v in views)
    factors = Factors(
        earliest=min(earliest, first.best * setting.best_s / setting.earliest_s),
        best=first.best,
        latest=max(first.best * first.late, first.best * setting.best_s / setting.latest_s),
        calibrated=True,
    )
    return Day(factors, low, high, len(kept), brackets[0] is not None, bool(conflicts))


@dataclass(frozen=True)
class _View:
    """A posterior, summed up."""

    early: float
    best: float
    late: float
    low: float
    high: float


def _view(
    prior: Floats, evidence: Sequence[Floats], dropped: tuple[int, ...], grabbed: bool
) -> _View:
    posterior = np.log(prior)
    for number, part in enumerate(evidence):
        if number not in dropped:
            posterior = posterior + part
    mass = np.exp(posterior - posterior.max())
    if not grabbed:
        mass[:, :, :-1] = 0.0
    mass /= mass.sum()
    factor = marginal(mass, 0)
    low, high = _interval(factor)
    edges = FACTOR_LOG[:, None] + EARLY_LOG[None, :]
    early = quantile(edges.ravel(), mass.sum(axis=2).ravel(), 0.5)
    late = quantile(LATE_LOG, marginal(mass, 2), 0.5) if grabbed else 0.0
    return _View(exp(early), exp(quantile(FACTOR_LOG, factor, 0.5)), exp(late), low, high)


def _prior(setting: SettingTimes, spread: float) -> Floats:
    """Log-normal in the factor (the sheet's uncertainty and that of the air), a little room for
    the early edge, none outwards for the late one; shape (factor, early, late), above 0.
    """
    sd = sqrt(setting.uncertainty**2 + spread**2)
    usual = np.exp(-0.5 * (FACTOR_LOG / sd) ** 2) * (1 - ODD_SHARE)
    odd = np.exp(-0.5 * (FACTOR_LOG / (ODD_SD * sd)) ** 2) * ODD_SHARE / ODD_SD
    factor = usual + odd
    early = np.exp(-0.5 * (EARLY_LOG / EARLY_LOG_SD) ** 2)
    late = np.exp(-0.5 * (LATE_LOG / setting.uncertainty) ** 2)
    prior = factor[:, None, None] * early[None, :, None] * late[None, None, :] + 1e-300
    return np.asarray(prior / prior.sum(), dtype=np.float64)


def _log_likelihood(setting: SettingTimes, report: TrialReport) -> Floats:
    """Of one report for every cell of the grid."""
    early = log(report.cure_s / setting.earliest_s) - FACTOR_LOG[:, None, None]
    dry = normal_cdf((early - EARLY_LOG[None, :, None]) / EDGE_LOG_SD)
    late = log(report.late_s / setting.latest_s) - FACTOR_LOG[:, None, None]
    gone = normal_cdf((late - LATE_LOG[None, None, :]) / EDGE_LOG_SD)
    shares = {"wet": 1 - dry, "clean": dry * (1 - gone), "grabbing": dry * gone}
    right = np.broadcast_to(shares[report.result], (len(FACTOR_LOG), len(EARLY_LOG), len(LATE_LOG)))
    return np.asarray(np.log((1 - WRONG_SHARE) * right + WRONG_SHARE / 3), dtype=np.float64)


def _weight(report: TrialReport, rate: float) -> float:
    age = 0.5 ** (report.age_s / HALF_LIFE_S)
    return float(age * exp(-abs(log(report.rate / rate)) / AIR_LOG_SCALE))


def _conflicts(reports: Sequence[TrialReport], weights: Sequence[float]) -> tuple[int, ...]:
    """Reports that cannot all be right: one says later what another had ended sooner."""
    found: set[int] = set()
    rank = {"wet": 0, "clean": 1, "grabbing": 2}
    heavy = [i for i, weight in enumerate(weights) if weight >= LEAST_WEIGHT]
    for one, other in combinations(heavy, 2):
        lower, upper = sorted((one, other), key=lambda i: rank[reports[i].result])
        if rank[reports[lower].result] == rank[reports[upper].result]:
            continue
        if log(reports[lower].cure_s / reports[upper].cure_s) > SAME_LOG:
            found |= {one, other}
    return tuple(sorted(found))


def _subsets(conflicts: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Every choice of contradicting reports that may be left out; none of them first."""
    few = conflicts[:MOST_CONFLICTS]
    return [chosen for size in range(len(few) + 1) for chosen in combinations(few, size)]


def _bracket(
    reports: Sequence[TrialReport], weights: Sequence[float], dropped: tuple[int, ...]
) -> tuple[float, float] | None:
    """The last wet and the first clean age, when there are both and in that order."""
    heavy = [
        report
        for number, report in enumerate(reports)
        if weights[number] >= LEAST_WEIGHT and number not in dropped
    ]
    wet = [r.cure_s for r in heavy if r.result == "wet"]
    clean = [r.cure_s for r in heavy if r.result == "clean"]
    if not wet or not clean or max(wet) > min(clean):
        return None
    return max(wet), min(clean)


def _between(early_s: float, bracket: tuple[float, float] | None) -> float:
    return early_s if bracket is None else min(max(early_s, bracket[0]), bracket[1])


def _interval(factor: Floats) -> tuple[float, float]:
    tail = (1 - COVERAGE) / 2
    low, high = (quantile(FACTOR_LOG, factor, share) for share in (tail, 1 - tail))
    return exp(low), exp(high)
