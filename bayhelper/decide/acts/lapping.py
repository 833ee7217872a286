"""Seams: reported as lapped, and the guard of a panel that is left with bare ones."""

from __future__ import annotations

from collections.abc import Iterable

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.job import seams
from bayhelper.decide.job.state import OPEN_STATES
from bayhelper.decide.job.targets import laid
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.body import Seam
from bayhelper.terms.choices import LapAct
from bayhelper.terms.slots import NEIGHBOUR, PANEL
from bayhelper.terms.subjects import laying as say


def leaving_bare(asked: Asked, panel: str) -> Outcome:
    """The guard that names the seams of a panel that is being left."""
    bare = seams.leaving(asked.job, panel)
    neighbours = tuple(seams.across(seam, panel) for seam in bare)
    return answers.ask_to_insist(asked, say.LeavingBareGuard(panel=panel, neighbours=neighbours))


def laps(asked: Asked, act: LapAct) -> list[ev.Event]:
    """Every seam of the panel lapped from it, on the way on or off."""
    job, panel = asked.job, asked.panel
    return [
        ev.SeamLapped(at_utc=asked.at_utc, seam=seam.id, panel=panel, act=act, layer=job.layer)
        for seam in seams.round_of(job, panel)
    ]


def _reported(asked: Asked, found: Iterable[Seam]) -> list[ev.SeamLapped]:
    """Seams reported by word: lapped on the way on, and after that on the way off.

    A seam that nobody had reported before counts as lapped on the way on, however late that is
    said; with the panel wiped, the report stands for the wipe too.
    """
    job, panel = asked.job, asked.panel
    wiped = not {part.state for part in job.parts_of(panel)} & OPEN_STATES
    acts: list[tuple[Seam, LapAct]] = []
    for seam in found:
        if not wiped or not seams.lapped(job, seam):
            acts.append((seam, "laying"))
        if wiped:
            acts.append((seam, "wiping"))
    return [
        ev.SeamLapped(at_utc=asked.at_utc, seam=seam.id, panel=panel, act=act, layer=job.layer)
        for seam, act in acts
    ]


def all_round(asked: Asked) -> Outcome:
    """Every seam of the panel was lapped, but for the one that is named."""
    job, panel = asked.job, asked.panel
    spared = NEIGHBOUR.given(asked.command) or ""
    if spared and seams.seam_between(job, panel, spared) is None:
        return answers.answer(say.NoSeamRefusal(panel=panel, neighbour=spared))
    done = [seam for seam in seams.round_of(job, panel) if seams.across(seam, panel) != spared]
    return answers.did(_reported(asked, done), say.LappedAllReply(panel=panel, neighbour=spared))


def lapped(asked: Asked) -> Outcome:
    """One seam was lapped."""
    panel, neighbour = asked.panel, NEIGHBOUR.of(asked.command)
    seam = seams.seam_between(asked.job, panel, neighbour)
    if seam is None:
        return answers.answer(say.NoSeamRefusal(panel=panel, neighbour=neighbour))
    return answers.did(_reported(asked, (seam,)), say.LappedReply(panel=panel, neighbour=neighbour))


ACTS = (
    Act(
        "all_round",
        "Every seam of it was lapped, but for one.",
        all_round,
        needs=(PANEL,),
        may=(NEIGHBOUR,),
        stages=frozenset({"coating"}),
        panels=laid,
        fits_first=True,
        taken_back="All round",
    ),
    Act(
        "lapped",
        "One seam was lapped.",
        lapped,
        needs=(PANEL, NEIGHBOUR),
        stages=frozenset({"coating"}),
        panels=laid,
        fits_first=True,
        taken_back="Seam",
    ),
)
"""What can be asked for about seams."""
