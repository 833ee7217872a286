"""Each kind of alert from first call to last: when, for whom, with which tone and words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from graphlib import TopologicalSorter

import pytest

from bayhelper.decide.due.deadlines import KINDS, ROWS, deadlines
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.terms.effects import Tone
from bayhelper.terms.saying import DueAlert, Saying, Urgency
from tests.decide.bench import SALOON, TO_COATING, TO_CORRECTION, Bench

NAMES = Names(SALOON, "uk")
TO_WASH = ("wash", "decontamination")
Act = tuple[float, str, dict[str, str | float | bool]]


def bare(panel: str, started_s: float, covered_s: float) -> Iterator[Act]:
    """A panel that Ada lays, without its seams."""
    yield started_s, "prepped", {"panel": panel}
    yield started_s, "laying", {"panel": panel, "by": "Ada"}
    yield covered_s, "covered", {"panel": panel}


def coat(panel: str, started_s: float, covered_s: float) -> Iterator[Act]:
    """A panel that Ada lays, seams and all."""
    yield from bare(panel, started_s, covered_s)
    yield covered_s, "all_round", {"panel": panel}


def wiped(panel: str, started_s: float) -> Iterator[Act]:
    """The same, levelled after five minutes and buffed soon after."""
    yield from coat(panel, started_s, started_s + 60)
    yield started_s + 300, "levelled", {"panel": panel}
    yield started_s + 350, "buffed", {"panel": panel}


def job_of(*acts: Act, plan: str = "coat_only", stages: tuple[str, ...] = TO_COATING) -> Bench:
    """A job in which all this was done, and nothing of it refused."""
    bench = Bench(plan, stages)
    for at_s, name, slots in acts:
        assert bench.say(name, at_s, **slots).events, f"{name} was refused"
    return bench


DOORS = tuple(f"{side}_{end}_door" for end in ("front", "rear") for side in ("left", "right"))
SIX = ("roof", "bonnet", *DOORS)
READ: tuple[Act, ...] = (
    (0, "set_air_temp", {"temp_c": 21.0}),
    (0, "set_humidity", {"humidity_percent": 50.0}),
)


@dataclass(frozen=True)
class Life:
    """A kind of alert in a job where nobody acts on it."""

    alert: str
    """The kind."""
    acts: tuple[Act, ...]
    """What is done before."""
    heard: str
    """Its first sentence at the teaching level; '' for a tone alone."""
    urgency: Urgency
    """Its tone."""
    called_s: tuple[float, ...]
    """Every instant at which it is called for, until the end."""
    answered_s: tuple[float, ...] = ()
    """The same after an answer to the first call."""
    left_s: float = 0.0
    """Between due and too late."""
    until_s: float = 20_000
    """The end."""
    whose: str = ""
    """Whom it is for."""
    plan: str = "coat_only"
    """The plan."""
    stages: tuple[str, ...] = TO_COATING
    """Stages gone through."""

    def bench(self) -> Bench:
        """The job after what is done before."""
        return job_of(*self.acts, plan=self.plan, stages=self.stages)


ROOF = tuple(coat("roof", 0, 60))
LIVES = (
    Life("trial_ready", ROOF, "", Urgency.SOFT, (180,), until_s=700, whose="Ada"),
    Life(
        "wipe_now",
        ROOF,
        "Roof. Wipe it off now. Later it grabs.",
        Urgency.DUE,
        (360, 390, 410),
        until_s=700,
        whose="Ada",
    ),
    Life(
        "closing",
        ROOF,
        "Roof closing, one minute.",
        Urgency.URGENT,
        (420, 440, 455, 470),
        (440, 460),
        left_s=60,
        until_s=700,
        whose="Ada",
    ),
    Life(
        "overdue",
        ROOF,
        "Roof overdue.",
        Urgency.URGENT,
        (480, 540, 585, 615, 645, 675),
        (540, 600, 660),
        until_s=700,
        whose="Ada",
    ),
    Life(
        "bare_seams",
        tuple(bare("left_quarter", 0, 60)),
        "Left rear wing. Five seams bare. Once set, a bare strip stays bare.",
        Urgency.DUE,
        (210, 300, 360),
        until_s=700,
        whose="Ada",
    ),
    Life(
        "look_again",
        tuple(wiped("roof", 0)),
        "Roof. Look again for high spots. After cure only polishing removes them.",
        Urgency.SOFT,
        (950, 1850),
    ),
    Life(
        "recoat_open",
        tuple(wiped("roof", 0)),
        "Roof. Ready for the next layer. The layer below has set enough.",
        Urgency.SOFT,
        (3950,),
        plan="correction_coat",
    ),
    Life(
        "recoat_closing",
        tuple(wiped("roof", 0)),
        "Roof. Next layer in thirty minutes. Later the layers do not bond.",
        Urgency.DUE,
        (12_950, 13_850, 14_450),
        left_s=1800,
        plan="correction_coat",
    ),
    Life(
        "recoat_missed",
        tuple(wiped("roof", 0)),
        "Roof. Too late for the next layer. The layers would not bond.",
        Urgency.DUE,
        (14_750, 15_650),
        plan="correction_coat",
    ),
    Life(
        "towels_due",
        tuple(act for number, panel in enumerate(SIX) for act in wiped(panel, 400 * number)),
        "Towels. Turn or change. Cured product in a towel scratches.",
        Urgency.SOFT,
        (2300,),
    ),
    Life(
        "dwell_due",
        ((100, "start_dwell", {"agent": "iron_remover"}),),
        "Iron remover. Rinse it off now. It must not dry on.",
        Urgency.DUE,
        (280, 310, 330, 345, 360, 375, 390),
        left_s=120,
        until_s=460,
        stages=TO_WASH,
    ),
    Life(
        "dwell_over",
        ((100, "start_dwell", {"agent": "iron_remover"}),),
        "Iron remover drying, rinse it off now.",
        Urgency.URGENT,
        (400, 420, 435, 445, 455),
        (420, 440, 460),
        until_s=460,
        stages=TO_WASH,
    ),
    Life(
        "residue_due",
        ((100, "residue_left", {"panel": "roof"}),),
        "Roof. Residue waits to be wiped. It gets harder to wipe.",
        Urgency.SOFT,
        (5500, 6400),
        plan="one_step",
        stages=TO_CORRECTION,
    ),
    Life(
        "pad_due",
        (
            (0, "start_panel", {"panel": "roof"}),
            (100, "section_done", {}),
        ),
        "Pad. Clean it now. A loaded pad cuts unevenly.",
        Urgency.SOFT,
        (100,),
        plan="one_step",
        stages=TO_CORRECTION,
    ),
    Life(
        "prep_stale",
        ((100, "prepped", {"panel": "roof"}),),
        "Roof. Prep is stale. Dust and oil settle again.",
        Urgency.SOFT,
        (3700,),
    ),
    Life(
        "air_stale",
        READ,
        "Air. Readings are old. Windows are reckoned with it.",
        Urgency.SOFT,
        (3600,),
    ),
)
EACH = pytest.mark.parametrize("life", LIVES, ids=lambda life: life.alert)


def called_s(bench: Bench, alert: str) -> tuple[float, ...]:
    return tuple(instant for _, _, instant in bench.raised(alert))


def test_every_kind_is_told_of():
    assert {life.alert for life in LIVES} == set(KINDS)


@EACH
def test_it_is_called_for_with_its_tone_and_words_until_something_takes_its_place(life):
    bench = life.bench()
    bench.run(life.until_s)
    assert called_s(bench, life.alert) == life.called_s
    first = [effect for at_s, effect in bench.effects if at_s == life.called_s[0]][-1]
    if not life.heard:
        assert first == Tone(life.urgency.name.lower())
        return
    assert isinstance(first, Saying)
    assert (first.topic, first.urgency) == (life.alert, life.urgency)
    assert words(first, NAMES, "teaching") == life.heard


@EACH
def test_an_answer_silences_it_or_makes_it_wait(life):
    """What costs a panel waits; all else is silent for good."""
    bench = life.bench()
    bench.run(life.called_s[0])
    bench.say("answered", life.called_s[0] + 5)
    bench.run(life.until_s)
    assert called_s(bench, life.alert)[1:] == life.answered_s


@EACH
def test_it_is_for_whoever_laid_the_panel_while_product_is_on_it(life):
    bench = life.bench()
    (due,) = [d for d in deadlines(bench.it) if d.alert == life.alert]
    assert KINDS[due.alert].for_whom(bench.it, due.subject) == life.whose
    assert (due.limit_at_utc - due.due_at_utc).total_seconds() == life.left_s


def test_the_sentence_tells_whom_it_is_for():
    bench = job_of(*ROOF)
    bench.run(400)
    said = [effect for _, effect in bench.effects if isinstance(effect, DueAlert)]
    (called,) = said[-1].called
    assert (called.alert, called.for_whom) == ("wipe_now", "Ada")


def test_waits_hold_at_the_shortest():
    """After a clean trial, which calls for wiping long before the panel is closing."""
    bench = job_of(*ROOF, (240, "trial", {"panel": "roof", "result": "clean"}))
    bench.run(419)
    assert called_s(bench, "wipe_now") == (240, 270, 290, *range(305, 420, 15))


def test_two_panels_that_wait_for_a_layer_are_called_together_and_sooner_each_time():
    bench = job_of(*wiped("roof", 0), *wiped("bonnet", 400), plan="correction_coat")
    bench.run(14_700)
    raised = [instant for _, panel, instant in bench.raised("recoat_closing") if panel == "roof"]
    assert raised == [12_950, 13_350, 13_950, 14_250, 14_550]


def undone(*acts: Act, at_s: float, plan: str = "coat_only") -> list[str]:
    """The kinds that are called at once when the last of these acts is taken back then."""
    bench = job_of(*acts, plan=plan)
    bench.run(at_s - 1)
    bench.say("undo", at_s)
    return [alert for alert, _, instant in bench.raised() if instant == at_s]


def test_what_comes_back_is_only_the_last_that_took_the_place_of_others():
    early: tuple[Act, ...] = (*ROOF, (100, "levelled", {"panel": "roof"}))
    assert undone(*early, at_s=200) == ["trial_ready"]
    assert undone(*early, at_s=370) == ["wipe_now"]
    assert undone(*early, at_s=430) == ["closing"]
    assert undone(*early, at_s=490) == ["overdue"]


def test_a_panel_that_closes_before_it_may_be_wiped_is_not_to_be_tried():
    long: tuple[Act, ...] = (*coat("roof", 0, 290), (295, "levelled", {"panel": "roof"}))
    assert undone(*long, at_s=415) == ["trial_ready"]
    assert undone(*long, at_s=425) == ["closing"]


def test_a_layer_that_comes_back_is_closing_or_missed_and_no_longer_open():
    second: tuple[Act, ...] = (
        *wiped("roof", 0),
        (1000, "checked", {"panel": "roof"}),
        (1010, "start_layer", {"layer": 2}),
        (1020, "laying", {"panel": "roof"}),
        (1030, "insist", {}),
    )
    assert undone(*second, at_s=4000, plan="correction_coat") == ["recoat_open"]
    assert undone(*second, at_s=13_000, plan="correction_coat") == ["recoat_closing"]
    assert undone(*second, at_s=15_000, plan="correction_coat") == ["recoat_missed"]


def test_a_bare_seam_does_not_bring_closing_forward():
    """Of two alerts about one panel only the earlier comes, although they are near."""
    bench = job_of(*bare("roof", 0, 55))
    bench.run(430)
    assert called_s(bench, "bare_seams")[-1] == 415
    assert called_s(bench, "closing") == (420,)


def test_what_takes_the_place_of_what_goes_round_in_no_circle_and_leaves_nobody_out():
    """The last of those that follow is one name for all of them, so each row holds them all."""
    TopologicalSorter({kind.name: kind.followed_by for kind in ROWS}).prepare()
    for kind in ROWS:
        for later in kind.followed_by:
            assert set(KINDS[later].followed_by) <= set(kind.followed_by)


@pytest.mark.parametrize("kind", ROWS, ids=lambda kind: kind.name)
def test_a_kind_comes_back_in_one_way_and_only_then_can_wait_after_an_answer(kind):
    assert not (kind.waits_s and kind.once_more_s)
    assert kind.answer == "silences" or kind.waits_s
