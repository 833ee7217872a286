"""Speakers are read strictly, and the rosters share no voice."""

from __future__ import annotations

import pytest

from training.speakers import FIXTURES, REPORT, TUNE, RecipeError, parse_speaker


def test_a_mixture_is_weighed_and_takes_the_dialect_of_its_heaviest_english_part() -> None:
    speaker = parse_speaker("kokoro:bf_emma*1+if_sara*3")
    assert speaker.parts == (("bf_emma", 0.25), ("if_sara", 0.75))
    assert (speaker.dialect, speaker.voice) == ("uk", "if_sara")
    assert parse_speaker("kokoro:am_puck").dialect == "us"
    assert parse_speaker("espeak:en-gb+f3").dialect == "uk"
    assert parse_speaker("flite:slt").dialect == "us"


@pytest.mark.parametrize("text", ["", "bf_emma", "kokoro:", "harp:a", "kokoro:a*x", "kokoro:a*0"])
def test_what_is_no_speaker_is_refused(text: str) -> None:
    with pytest.raises(RecipeError, match="expected"):
        parse_speaker(text)


def test_no_voice_is_both_tuned_on_and_reported_on() -> None:
    tune, report, fixtures = (
        {name for text in roster.values() for name, _ in parse_speaker(text).parts}
        for roster in (TUNE, REPORT, FIXTURES)
    )
    assert not (tune & report or tune & fixtures or report & fixtures)
    for roster in (TUNE, REPORT):
        dialects = [parse_speaker(text).dialect for text in roster.values()]
        assert dialects.count("uk") == 3 and dialects.count("us") == 5
