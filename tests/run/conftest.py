"""A wall clock that a test can set."""

from datetime import datetime, timedelta

import pytest

from bayhelper.run import clock as clock_module


class Wall(datetime):
    """A wall clock that somebody can set."""

    shift = timedelta(0)

    @classmethod
    def now(cls, tz=None):
        return datetime.now(tz) + cls.shift


@pytest.fixture
def wall(monkeypatch):
    monkeypatch.setattr(clock_module, "datetime", Wall)
    monkeypatch.setattr(Wall, "shift", timedelta(0))
    return Wall
