"""What is said of alerts: the panel first, then what, then how long, and never for long."""

from __future__ import annotations

import numpy as np
import pytest

from bayhelper.decide.due.deadlines import KINDS, ROWS
from bayhelper.sheets.bodies import load_body
from bayhelper.speak.durations import (
    RATE_WPM,
    counted,
    duration_words,
    number_words,
    spoken_s,
)
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.speak.voice_process import VoiceProcess
from bayhelper.speak.warnings import LONGEST_S, WORDS
from tests.speak.calling import alert

UK, US = Names(load_body("saloon"), "uk"), Names(load_body("saloon"), "us")
MOST_WORDS = 8
"""Short words that the voice says in two and a half seconds."""


def said(*rows, names: Names = UK, **more) -> str:
    return words(alert(*rows, **more), names)


@pytest.mark.parametrize(
    ("row", "wanted"),
    [
        (("wipe_now", "roof", 0), "Roof. Wipe it off now."),
        (("closing", "left_front_door", 0, 40), "Left front door, forty seconds."),
        (("overdue", "roof", -120), "Roof overdue by two minutes."),
        (("overdue", "roof", -361), "Roof overdue by six minutes."),
        (("overdue", "roof", -3), "Roof overdue."),
        (("overdue", "bonnet/left", 0), "Bonnet left half overdue."),
        (("dwell_due", "iron_remover", 0), "Iron remover. Rinse it off now."),
        (("dwell_over", "tar_remover", -5), "Tar remover drying, rinse it off now."),
        (("look_again", "roof", 0), "Roof. Look again for high spots."),
        (("pad_due", "pad", 0), "Pad. Clean it now."),
        (("residue_due", "roof", 0), "Roof. Residue waits to be wiped."),
        (("prep_stale", "roof", 0), "Roof. Prep is stale."),
        (("recoat_open", "roof", 0), "Roof. Ready for the next layer."),
        (("recoat_closing", "roof", 0, 1800), "Roof. Next layer in thirty minutes."),
        (("recoat_missed", "roof", 0), "Roof. Too late for the next layer."),
    ],
)
def test_one_alert_is_one_short_sentence(row, wanted):
    assert said(row) == wanted
    assert len(wanted.split()) <= MOST_WORDS


def test_a_bare_seam_is_named_and_several_are_counted():
    assert (
        said(("bare_seams", "roof", 0), neighbours=("left_front_door",))
        == "Roof. Seam to left front door is bare."
    )
    assert (
        said(("bare_seams", "roof", 0), neighbours=("left_front_door", "left_quarter"))
        == "Roof. Two seams bare."
    )


def test_several_are_one_sentence_with_the_most_urgent_first():
    assert (
        said(("overdue", "roof", -120), ("wipe_now", "bonnet", 0)) == "Roof overdue, bonnet wipe."
    )
    assert (
        said(("overdue", "roof", -120), ("look_again", "bonnet", 0), ("pad_due", "pad", 0))
        == "Roof overdue then bonnet and one more."
    )
    assert said(("closing", "roof", 0, 60), ("closing", "bonnet", 15, 75)) == (
        "Roof and bonnet closing."
    )


@pytest.mark.parametrize(
    ("alert_kind", "subject", "wanted"),
    [
        ("recoat_open", "bonnet", "bonnet recoat"),
        ("recoat_closing", "bonnet", "bonnet recoat"),
        ("recoat_missed", "bonnet", "bonnet too late"),
        ("dwell_due", "tar_remover", "tar remover rinse"),
        ("dwell_over", "tar_remover", "tar remover rinse"),
        ("pad_due", "pad", "pad dirty"),
    ],
)
def test_after_what_is_more_urgent_two_words_are_enough(alert_kind, subject, wanted):
    assert said(("overdue", "roof", -120), (alert_kind, subject, 0)) == f"Roof overdue, {wanted}."


def test_panels_that_wait_for_the_same_are_named_together():
    assert said(("wipe_now", "roof", 0), ("wipe_now", "bonnet", 15)) == (
        "Roof and bonnet. Wipe off now."
    )
    assert said(("overdue", "roof", 0), ("overdue", "boot_lid", 15)) == (
        "Roof overdue, boot lid closing."
    )


def test_many_are_counted_and_not_recited():
    doors = ("left_front_door", "left_rear_door", "right_front_door", "right_rear_door")
    assert said(*(("wipe_now", door, 0) for door in doors)) == ("Left front door wipe, three more.")
    short = ("roof", "bonnet", "boot_lid", "left_sill")
    assert said(*(("look_again", panel, 0) for panel in short)) == (
        "Roof, bonnet and two more look again."
    )


def test_what_is_named_a_little_early_is_not_called_overdue():
    assert said(("overdue", "roof", 15)) == "Roof closing, fifteen seconds."
    assert said(("wipe_now", "roof", 20)) == "Roof. Wipe off soon."


LONGEST_NAMED = ("right_quarter", "left_b_pillar", "left_front_door", "bonnet", "roof")
"""Parts of the saloon with the longest spoken names, and two with short ones."""
SUBJECTS = {
    "dwell_due": ("pre_rinse_foam", "iron_remover", "tar_remover"),
    "dwell_over": ("pre_rinse_foam", "iron_remover", "tar_remover"),
    "pad_due": ("pad", *LONGEST_NAMED),
}


def every_sentence() -> set[str]:
    """Each kind of alert by itself, with others of its kind, and with each other kind."""
    found = set()
    spoken = [kind.name for kind in ROWS if not kind.tone_only]
    for names, topic in ((names, topic) for names in (UK, US) for topic in spoken):
        subjects = SUBJECTS.get(topic, LONGEST_NAMED)
        for subject in subjects:
            for due_in_s in (0, -95, -1640, 17):
                for bare in ((), LONGEST_NAMED[:1], LONGEST_NAMED[:3]):
                    row = (topic, subject, due_in_s, 55)
                    found.add(said(row, names=names, neighbours=bare))
        for count in (2, 3, 5):
            rows = [(topic, subject, 0, 55) for subject in (*subjects, *LONGEST_NAMED)[:count]]
            found.add(said(*rows, names=names))
        for other in spoken:
            rows = [(topic, subjects[0], 0, 55), (other, LONGEST_NAMED[1], 0, 55)]
            found.add(said(*rows, names=names))
            found.add(said(*rows, ("look_again", "roof", 0), names=names))
    return found


def test_no_alert_is_long_whatever_is_due_and_however_long_the_names():
    longest = max(len(UK.panel(panel.id)) for panel in UK.body.panels)
    assert longest == len(UK.panel(LONGEST_NAMED[1]).replace("left", "right"))
    for text in every_sentence():
        assert len(text.split()) <= MOST_WORDS, text
        assert spoken_s(text) <= LONGEST_S, text


def test_the_estimate_holds_for_the_real_voice():
    """Every alert as it sounds at 165 words a minute, without the silence at its ends."""
    texts = sorted(every_sentence())
    errors = []
    with VoiceProcess(rate_wpm=RATE_WPM) as voice:
        for text in texts:
            sound = voice.render(text)
            loud = np.flatnonzero(np.abs(np.frombuffer(sound.pcm, "<i2").astype(int)) > 300)
            length_s = (loud[-1] - loud[0]) / sound.rate_hz
            assert length_s <= LONGEST_S, (text, length_s)
            errors.append(length_s - spoken_s(text))
    assert len(texts) > 100
    assert float(np.sqrt(np.mean(np.square(errors)))) < 0.2


def test_panels_are_named_in_the_dialect():
    row = ("overdue", "left_front_wing", -60)
    assert said(row) == "Left front wing overdue by one minute."
    assert said(row, names=US) == "Left front fender overdue by one minute."


def test_every_alert_has_a_sentence_and_no_figure_is_left_as_a_digit():
    assert set(WORDS) == set(KINDS)
    for topic in WORDS:
        first = said((topic, "roof", -95, 95))
        after = said(("overdue", "bonnet", -200), (topic, "roof", -95, 95))
        for text in (first, after):
            assert text
            assert text.endswith(".")
            assert not any(letter.isdigit() or letter == "_" for letter in text)
        if topic != "pad_due" and not KINDS[topic].tone_only:
            assert first.startswith("Roof")


@pytest.mark.parametrize(
    ("seconds", "wanted"),
    [
        (0, "five seconds"),
        (42, "forty seconds"),
        (60, "one minute"),
        (75, "seventy five seconds"),
        (89, "ninety seconds"),
        (-121, "two minutes"),
        (3590, "one hour"),
        (3700, "sixty two minutes"),
        (5400, "one and a half hours"),
        (7200, "two hours"),
    ],
)
def test_times_are_spoken_as_people_say_them(seconds, wanted):
    assert duration_words(seconds) == wanted


@pytest.mark.parametrize(
    ("number", "wanted"),
    [
        (0, "zero"),
        (13, "thirteen"),
        (40, "forty"),
        (99, "ninety nine"),
        (100, "one hundred"),
        (127, "one hundred and twenty seven"),
        (1005, "one thousand and five"),
        (1250, "one thousand two hundred and fifty"),
        (-4, "minus four"),
    ],
)
def test_numbers_are_spoken_in_words(number, wanted):
    assert number_words(number) == wanted


def test_one_thing_is_singular():
    assert (counted(1, "seam"), counted(2, "seam")) == ("one seam", "two seams")
