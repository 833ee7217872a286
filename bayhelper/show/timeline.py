"""What happened, line by line: live in the terminal and as JSON lines in a file."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, TextIO

from bayhelper.show.jsonable import jsonable
from bayhelper.terms.events import Event, JobOpened, SpeechHeard, Spoken
from bayhelper.terms.saying import Saying
from bayhelper.terms.utterance import Hearing

LineKind = Literal["heard", "event", "said"]
MARKS: dict[LineKind, str] = {"heard": "<", "event": " ", "said": ">"}
"""What stands before each kind of line in the terminal."""


def event_fields(event: Event) -> dict[str, object]:
    """An event as plain data, without the long copies that the opening of a job carries."""
    fields: dict[str, object] = {"event": type(event).__name__}
    if isinstance(event, JobOpened):
        return fields | {
            "job": event.job,
            "plan": event.plan.id,
            "body": event.body.id,
            "technicians": list(event.technicians),
            "car": event.car,
        }
    content = {key: jsonable(item) for key, item in asdict(event).items()}
    content.pop("at_utc")
    if "kind" in content:  # every line has a kind of its own
        content["defect"] = content.pop("kind")
    return fields | {key: value for key, value in content.items() if value not in ("", [])}


class Timeline:
    """Collects lines of three kinds; `t_s` counts from `began_utc`."""

    def __init__(
        self, began_utc: datetime, file: Path | None = None, terminal: TextIO | None = None
    ) -> None:
        self.began_utc = began_utc
        self._file = file.open("w", encoding="utf-8") if file else None
        self._terminal = terminal

    def heard(self, at_utc: datetime, hearing: Hearing) -> None:
        """One utterance, understood or not."""
        command = hearing.command
        fields = {
            "text": hearing.text,
            "command": command.name if command else None,
            "slots": dict(command.slots) if command else {},
            "accepted": hearing.accepted,
            "why": hearing.why,
            "confidence": round(hearing.confidence, 3),
            "origin": Path(hearing.utterance.origin).name,
        }
        verdict = "" if hearing.accepted else f"   ({hearing.why})"
        self._line(at_utc, "heard", fields, f"{hearing.text or '...'}{verdict}")

    def event(self, event: Event, at_utc: datetime) -> None:
        """One recorded fact; what was heard and said has lines of its own."""
        if isinstance(event, Spoken | SpeechHeard):
            return
        fields = event_fields(event)
        detail = "  ".join(f"{k}={v}" for k, v in fields.items() if k != "event")
        self._line(at_utc, "event", fields, f"{fields['event']}  {detail}".rstrip())

    def said(self, at_utc: datetime, say: Saying, text: str, sound: str, length_s: float) -> None:
        """One sentence of the helper."""
        fields = {
            "topic": say.topic,
            "text": text,
            "manner": say.manner,
            "urgency": say.urgency.name.lower() if say.urgency else None,
            "sound": sound,
            "length_s": round(length_s, 2),
        }
        bell = "! " * int(say.urgency) if say.urgency else ""
        self._line(at_utc, "said", fields, f"{bell}{text}")

    def tone(self, at_utc: datetime, name: str) -> None:
        """A tone without words."""
        fields = {"topic": "tone", "text": "", "manner": "tone", "tone": name}
        self._line(at_utc, "said", fields, f"({name} tone)")

    def part(self, at_utc: datetime, part: str, alive: bool, text: str) -> None:
        """A part of the helper was lost, or works again."""
        fields = {"event": "PartBack" if alive else "PartLost", "part": part, "text": text}
        self._line(at_utc, "event", fields, f"! {text}")

    def notice(self, text: str) -> None:
        """Something for the person at the terminal only, such as a part that failed."""
        if self._terminal:
            print(f"         ! {text}", file=self._terminal, flush=True)

    def close(self) -> None:
        """Finish the file; what comes later goes to the terminal only."""
        if self._file:
            self._file.close()
            self._file = None

    def _line(self, at_utc: datetime, kind: LineKind, fields: dict[str, Any], text: str) -> None:
        t_s = round((at_utc - self.began_utc).total_seconds(), 2)
        if self._file:
            self._file.write(json.dumps({"t_s": t_s, "kind": kind} | fields) + "\n")
            self._file.flush()
        if self._terminal:
            minutes, seconds = divmod(int(t_s), 60)
            hours, minutes = divmod(minutes, 60)
            mark = MARKS[kind]
            print(
                f"{hours:d}:{minutes:02d}:{seconds:02d} {mark} {text}",
                file=self._terminal,
                flush=True,
            )
