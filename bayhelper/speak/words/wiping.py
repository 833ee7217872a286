"""Words about trial wipes, levelling and buffing."""

from __future__ import annotations

from bayhelper.speak.durations import duration_words
from bayhelper.speak.names import Names
from bayhelper.speak.warnings import subject_words
from bayhelper.speak.wording import in_time, part_name, says, sentence, told
from bayhelper.terms.subjects import wiping as say


def _which_panel(saying: say.WhichPanelQuestion, names: Names) -> str:
    first, second = saying.parts
    asked = f"{subject_words(first, names)} or {subject_words(second, names)}?"
    return asked[:1].upper() + asked[1:]


def _trial_wet(saying: say.TrialWetReply, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    return told(f"{part} wet", f"try again {in_time(saying.again_in_s)}")


def _trial_clean(saying: say.TrialCleanReply, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    return told(f"{part} clean after {duration_words(saying.covered_for_s)}", "wipe it off now")


def _trial_grabbing(saying: say.TrialGrabbingReply, names: Names) -> str:
    part = part_name(names, saying.panel, saying.half)
    return sentence(f"{part} grabbing, wipe it off now")


def _day_figure(saying: say.DayFigureReply, names: Names) -> str:
    earliest, best = duration_words(saying.earliest_s), duration_words(saying.best_s)
    return sentence(f"today from {earliest}, best at {best}")


def _more_time(saying: say.MoreTimeReply, names: Names) -> str:
    return sentence(f"{part_name(names, saying.panel)} {duration_words(saying.extra_s)} more")


SENTENCES = (
    says(
        say.NothingToTryRefusal,
        lambda saying, names: told(part_name(names, saying.panel), "nothing covered to try"),
    ),
    says(say.WhichPanelQuestion, _which_panel),
    says(say.TrialWetReply, _trial_wet),
    says(say.TrialCleanReply, _trial_clean),
    says(say.TrialGrabbingReply, _trial_grabbing),
    says(say.DayFigureReply, _day_figure),
    says(say.TrialsDisagreeReply, "Trials disagree. The window is wider again."),
    says(
        say.NotCoveredRefusal,
        lambda saying, names: told(part_name(names, saying.panel), "no product on it to take off"),
    ),
    says(
        say.LevelledReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel, saying.half)} levelled"),
    ),
    says(
        say.BuffedReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel, saying.half)} buffed"),
    ),
    says(say.MoreTimeReply, _more_time),
)
"""What is said while product comes off."""
