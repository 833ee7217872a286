"""The words of every sentence: one table joined from replies and warnings."""

from __future__ import annotations

from bayhelper.speak.names import Names
from bayhelper.speak.replies import REPLIES
from bayhelper.speak.warnings import WARNINGS
from bayhelper.speak.why import why
from bayhelper.terms.effects import Chatter, Say
from bayhelper.terms.errors import SpeechError

SENTENCES = REPLIES | WARNINGS


def words(say: Say, names: Names, chatter: Chatter = "normal") -> str:
    """The sentence, in plain words; '' for what has only a tone. Teaching adds the reason.

    Raises SpeechError for a topic that nobody wrote a sentence for.
    """
    sentence = SENTENCES.get(say.topic)
    if sentence is None:
        raise SpeechError(f"There is no sentence for '{say.topic}'; add one in bayhelper/speak.")
    reason = why(say) if chatter == "teaching" else ""
    return f"{sentence(say, names)} {reason}".rstrip()
