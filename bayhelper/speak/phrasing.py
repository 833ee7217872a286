"""From a saying to its words: one table, by the type of the saying."""

from __future__ import annotations

from bayhelper.speak.names import Names
from bayhelper.speak.warnings import warning
from bayhelper.speak.wording import says
from bayhelper.speak.words import (
    asking,
    correction,
    job,
    laying,
    looking,
    notes,
    supplies,
    surfaces,
    talk,
    wash,
    wiping,
)
from bayhelper.terms.effects import Chatter
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.saying import DueAlert, Saying

SENTENCES = {
    row.kind: row
    for row in (
        *job.SENTENCES,
        *surfaces.SENTENCES,
        *wash.SENTENCES,
        *correction.SENTENCES,
        *laying.SENTENCES,
        *wiping.SENTENCES,
        *looking.SENTENCES,
        *supplies.SENTENCES,
        *asking.SENTENCES,
        *talk.SENTENCES,
        *notes.SENTENCES,
        says(DueAlert, warning, why=lambda saying: saying.reason),
    )
}
"""The words of every kind of saying."""


def words(saying: Saying, names: Names, chatter: Chatter = "normal") -> str:
    """The sentence, in plain words; '' for what has only a tone. Teaching adds the reason.

    Raises SpeechError for a saying that nobody wrote a sentence for.
    """
    row = SENTENCES.get(type(saying))
    if row is None:
        raise SpeechError(
            f"There are no words for {type(saying).__name__}; add a row in bayhelper/speak/words."
        )
    reason = row.why(saying) if chatter == "teaching" else ""
    return f"{row.words(saying, names)} {reason}".rstrip()
