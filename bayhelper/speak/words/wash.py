"""Words about removers and foam."""

from __future__ import annotations

from bayhelper.speak.names import Names
from bayhelper.speak.wording import agent_name, in_time, listed, says, sentence, told
from bayhelper.terms.subjects import wash as say


def _dwell_started(saying: say.DwellStartedReply, names: Names) -> str:
    return told(f"{agent_name(saying.agent)} on", f"rinse {in_time(saying.rinse_in_s)}")


def _dwell_ended(saying: say.DwellEndedReply, names: Names) -> str:
    return sentence(f"{listed([agent_name(agent) for agent in saying.agents])} rinsed off")


SENTENCES = (
    says(
        say.NoDwellSheetRefusal,
        lambda saying, _: sentence(f"{agent_name(saying.agent)} has no time on its sheet"),
    ),
    says(say.DwellStartedReply, _dwell_started),
    says(
        say.NotDwellingRefusal,
        lambda saying, _: sentence(f"{agent_name(saying.agent) or 'nothing'} is not on"),
    ),
    says(say.DwellEndedReply, _dwell_ended),
)
"""What is said while washing."""
