"""What every test gets: no network, one thread an engine, and the path of the source tree."""

from __future__ import annotations

import os
import socket
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("XDG_CACHE_HOME", str(Path(tempfile.gettempdir()) / "bayhelper-test-cache"))

ROOT = Path(__file__).resolve().parents[1]
HERE = {"localhost", "127.0.0.1", "::1"}


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the source tree."""
    return ROOT


@pytest.fixture(autouse=True)
def offline(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nothing in bayhelper may need a network: a connection beyond this machine fails the test."""
    connect = socket.socket.connect

    def only_here(self: socket.socket, address: Any) -> None:
        if self.family != socket.AF_UNIX and address[0] not in HERE:
            pytest.fail(f"a test reached for the network: {address!r}")
        connect(self, address)

    monkeypatch.setattr(socket.socket, "connect", only_here)
    yield
