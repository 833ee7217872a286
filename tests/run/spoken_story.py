"""A bay that hears recordings on a clock of its own; what leads up to them is typed."""

import json
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from bayhelper.hear.typed import read_typed
from bayhelper.run.bay.playback import Take, pass_time, play
from bayhelper.run.bay.session import open_session
from bayhelper.run.clock import ManualClock
from bayhelper.run.parts import build_library
from bayhelper.speak.player import FolderPlayer
from bayhelper.terms.utterance import Utterance
from bayhelper.understand.offer import plain_words

COMMANDS = Path(__file__).parents[2] / "audio_fixtures" / "commands"
BEGAN_UTC = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


class Story:
    """A bay on a clock of its own, and what it said so far."""

    def __init__(self, session, clock, file):
        self.session, self.clock, self.file = session, clock, file
        self.bay = session.bay
        self._library = build_library()

    def typed(self, *lines):
        for line in lines:
            utterance = Utterance(None, 0.0, 0.0, "typed", typed=line)
            hearing = read_typed(utterance, self._library.offer(self.bay.scope()), plain_words)
            assert hearing.accepted, (line, hearing.why)
            self.bay.act_on(hearing, self.clock.now_utc())

    def wait(self, seconds):
        pass_time(self.session, self.clock, seconds)

    def spoken(self, name, after_s=0.0):
        """Play a recording; gives what was said since."""
        before = len(self.rows())
        take = Take(COMMANDS / f"{name}.flac", after_s)
        play([take], self.session, self.clock, fast=True, patience_s=0.8)
        rows = self.rows()[before:]
        heard = [row for row in rows if row["kind"] == "heard"]
        assert heard and all(row["accepted"] for row in heard), heard
        return [row for row in rows if row["kind"] == "said"]

    def rows(self):
        lines = self.file.read_text(encoding="utf-8").splitlines()
        return [json.loads(line) for line in lines]

    def events(self, name):
        return [row for row in self.rows() if row["kind"] == "event" and row["event"] == name]


@contextmanager
def begun(ear, folder, settings):
    """A story in a folder of its own."""
    file, clock = folder / "timeline.jsonl", ManualClock(BEGAN_UTC)
    with open_session(
        folder,
        settings,
        ear=ear,
        player=FolderPlayer(folder / "prompts"),
        clock=clock,
        timeline_file=file,
    ) as session:
        yield Story(session, clock, file)


def topics(said):
    return [row["topic"] for row in said]
