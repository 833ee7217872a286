"""What may be said is what may be done: typed phrases of every state that the stories pass."""

from __future__ import annotations

from collections import Counter

import pytest

from bayhelper.decide.acts.catalogue import allowed, allowed_panels
from bayhelper.decide.decide import decide
from bayhelper.decide.job.state import Job, part_key
from bayhelper.run.resources import grammar_texts
from bayhelper.terms.command import Command
from bayhelper.terms.events import QuestionAsked
from bayhelper.terms.scope import Scope
from bayhelper.understand.offer import Library, plain_words
from bayhelper.understand.phrase_offer import PhraseOffer
from bayhelper.understand.sample import canonical, sample
from tests.decide.stories import STORIES
from tests.decide.worker import DESK, START_UTC, Worker, says
from tests.known import known

LIBRARY = Library(grammar_texts())
A_VALUE = {
    "no_seam": "lapped",
    "no_such_layer": "start_layer",
    "not_dwelling": "end_dwell",
    "stage_not_now": "start_stage",
    "stage_already": "start_stage",
    "stage_not_running": "finish_stage",
    "temp_impossible": "set_panel_temp",
}
"""Refusals of one value among those that the phrase can hold, and the command they belong to."""


def offer_for(job: Job) -> PhraseOffer:
    return LIBRARY.offer(
        Scope(
            body=job.body,
            address="hello shop",
            commands=allowed(job),
            panels=allowed_panels(job),
            technicians=job.technicians,
        )
    )


def passed(story) -> dict[tuple[object, ...], Job]:
    """The job after each line, once for each set of commands and panels."""
    worker = Worker(story.plan)
    found: dict[tuple[object, ...], Job] = {}
    for line in ("wait 0", *story.lines):
        worker.do(line)
        job = worker.it
        if job.closed_at_utc is None:
            key = (job.stage, allowed(job), tuple(sorted(allowed_panels(job).items())))
            found.setdefault(key, job)
    return found


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name)
def test_what_is_offered_is_accepted(story):
    for job in passed(story).values():
        offer = offer_for(job)
        typed = [phrase for _, phrase in canonical(offer)]
        typed += [phrase for phrase, _, _ in sample(offer, 25, seed=len(job.decisions))]
        for phrase in typed:
            command = offer.match(plain_words(phrase)).command
            assert command is not None, phrase
            assert refusal(job, command) in ("", command.name), (phrase, job.stage)


def refusal(job: Job, command: Command) -> str:
    """Why it was refused: '' when it was not, or only a guard spoke; the command for a value."""
    outcome = decide(job, command, START_UTC, DESK)
    if any(isinstance(event, QuestionAsked) for event in outcome.events):
        return ""
    topics = [say.topic for say in says(outcome) if say.manner == "refusal"]
    return A_VALUE.get(topics[0], topics[0]) if topics else ""


def test_which_is_answered_by_the_names_that_were_asked_for_and_no_others():
    worker = Worker("coat_only", "saloon")
    worker.do("start_stage stage=inspection", "start_stage stage=panel_wipe")
    worker.do(*(f"prepped panel={p}" for p in ("roof", "bonnet", "boot_lid")))
    worker.do("covered panel=roof all_round=true", "covered panel=boot_lid all_round=true")
    worker.do("covered panel=bonnet half=left all_round=true", "wait 130")
    worker.say("trial result=wet")
    offer = offer_for(worker.it)
    named = {
        part_key(str(c.slots["panel"]), str(c.slots.get("half", ""))) for _, c in choices(offer)
    }
    assert named == set(known(worker.it.question).choices) == {"roof", "bonnet/left"}
    said, command = choices(offer)[0]
    assert said.startswith("the ") and command.name == "choose_panel"
    assert refusal(worker.it, command) == ""


def choices(offer: PhraseOffer) -> list[tuple[str, Command]]:
    """Each way to name a part, of those a question offers."""
    typed = ("the roof", "the boot lid", "the trunk", "the bonnet left half", "the left sill")
    read = [(text, offer.match(plain_words(text))) for text in typed]
    return [(text, m.command) for text, m in read if m.command and m.edits == 0]


@pytest.mark.parametrize("story", STORIES[:12], ids=lambda story: story.name)
def test_what_is_allowed_has_a_phrase(story):
    for job in passed(story).values():
        said = Counter(command for command, _ in canonical(offer_for(job)))
        assert set(said) == allowed(job)
