"""Removers and foam that stand on the car for a while."""

from __future__ import annotations

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.choices import Stage
from bayhelper.terms.slots import AGENT
from bayhelper.terms.subjects import wash as say


def start_dwell(asked: Asked) -> Outcome:
    """A remover is on: its clock runs."""
    agent = AGENT.of(asked.command)
    product = asked.job.product(agent)
    if product is None or product.dwell is None:
        return answers.answer(say.NoDwellSheetRefusal(agent=agent))
    rinse_s = product.dwell.rinse_s
    started = ev.DwellStarted(
        at_utc=asked.at_utc,
        agent=agent,
        product=product.id,
        rinse_s=rinse_s,
        max_s=product.dwell.max_s,
    )
    return answers.did((started,), say.DwellStartedReply(agent=agent, rinse_in_s=rinse_s))


def end_dwell(asked: Asked) -> Outcome:
    """Rinsed off; without a name, everything that dwells."""
    dwells, agent = asked.job.dwells, AGENT.given(asked.command)
    agents = tuple(name for name in ([agent] if agent else sorted(dwells)) if name in dwells)
    if not agents:
        return answers.answer(say.NotDwellingRefusal(agent=agent or ""))
    ended = [ev.DwellEnded(at_utc=asked.at_utc, agent=name) for name in agents]
    return answers.did(ended, say.DwellEndedReply(agents=agents))


WASHING = frozenset[Stage]({"wash", "decontamination"})
"""Stages in which something may stand on the car."""

ACTS = (
    Act(
        "start_dwell",
        "A remover is on and dwelling.",
        start_dwell,
        needs=(AGENT,),
        stages=WASHING,
        taken_back="Remover on",
    ),
    Act(
        "end_dwell",
        "It is rinsed off.",
        end_dwell,
        may=(AGENT,),
        stages=WASHING,
        when=lambda job: bool(job.dwells),
        taken_back="Rinsed off",
    ),
)
"""What can be asked for while washing."""
