"""Sentences of the alerts to come: foreseen word for word, rendered ahead, and nothing changed."""

import time
from datetime import timedelta

import pytest

from bayhelper.decide.due.alerts import next_due_utc, tick
from bayhelper.decide.due.foresee import coming_alerts
from bayhelper.hear.typed import typed_utterances
from bayhelper.remember.history import History
from bayhelper.run.bay.session import open_session
from bayhelper.run.clock import ManualClock
from bayhelper.run.parts import TypedEar
from bayhelper.run.settings import Settings
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.speak.player import FolderPlayer
from bayhelper.speak.voice_process import VoiceProcess
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.saying import Saying
from tests.decide.stories import PREP_AND_LAY, TO_COATING
from tests.decide.worker import START_UTC, Worker
from tests.known import known

LINES = ("open a new job", "start the wash", "iron remover is on")
STORIES = {
    "a panel that nobody wipes": (*TO_COATING, *PREP_AND_LAY[:4]),
    "two panels close together": (
        *TO_COATING,
        "prepped panel=bonnet",
        *PREP_AND_LAY[:2],
        "wait 40",
        "covered panel=roof all_round=true",
        "laying panel=bonnet",
        "wait 70",
        "covered panel=bonnet",
    ),
    "a remover that dries": (
        "start_stage stage=wash",
        "start_stage stage=decontamination",
        "start_dwell agent=iron_remover",
    ),
}


@pytest.mark.parametrize("late_s", [0.001, 0.01, 0.2])
@pytest.mark.parametrize("story", STORIES)
def test_what_is_foreseen_is_what_is_said(story, late_s):
    """However late, within a fifth of a second, the loop wakes after the instant (never before)."""
    worker = Worker()
    worker.do(*STORIES[story])
    names = Names(worker.it.body, "uk")
    told = 0
    for _ in range(30):
        due_utc = next_due_utc(worker.it)
        if due_utc is None:
            break
        foreseen = [words(say, names) for say in coming_alerts(worker.it, 2)]
        now_utc = max(due_utc, worker.now_utc) + timedelta(seconds=late_s)
        said = [e for e in tick(worker.it, now_utc).effects if isinstance(e, Saying)]
        if said:
            assert words(said[0], names) == foreseen[0]
            told += 1
        worker.wait((now_utc - worker.now_utc).total_seconds())
    assert told >= 2


def test_nothing_is_foreseen_where_nothing_falls_due():
    assert coming_alerts(Worker().it, 2) == ()
    worker = Worker()
    worker.do(*STORIES["a remover that dries"])
    before = worker.it
    assert len(coming_alerts(worker.it, 2)) == 2 and coming_alerts(worker.it, 0) == ()
    assert worker.it == before


def run(folder, live, before_each=lambda mouth: None):
    """What three deadlines made the bay decide and play."""
    with open_session(
        folder,
        Settings(),
        ear=TypedEar(),
        player=FolderPlayer(folder / "prompts"),
        clock=ManualClock(START_UTC),
        live=live,
    ) as session:
        for utterance in typed_utterances(LINES):
            session.hear(utterance)
        for _ in range(3):
            before_each(session.mouth)
            session.bay.pass_time(known(session.bay.next_due_utc()))
    with History.open(folder) as history:
        decisions = history.decisions(history.jobs()[0])
    return decisions, {f.name: f.read_bytes() for f in (folder / "prompts").iterdir()}


def test_what_was_rendered_ahead_needs_no_voice_any_more_and_is_the_same(tmp_path, monkeypatch):
    """The voice is taken away before each deadline, once what was foreseen is rendered."""
    good = VoiceProcess._render

    def gone(voice, text):
        raise SpeechError(f"asked for {text}")

    def rendered(mouth):
        monkeypatch.setattr(VoiceProcess, "_render", good)
        while mouth._voice._pending:
            time.sleep(0.01)
        monkeypatch.setattr(VoiceProcess, "_render", gone)

    plain = run(tmp_path / "plain", live=False)
    assert run(tmp_path / "ahead", live=True, before_each=rendered) == plain


def test_a_sentence_that_is_no_longer_foreseen_is_not_rendered():
    with VoiceProcess() as voice:
        voice.render_ahead([f"Panel {number} closing." for number in range(30)])
        voice.render_ahead(["Roof overdue."])
        while voice._pending:
            time.sleep(0.01)
        assert "Roof overdue." in voice._kept and len(voice._kept) < 4
