"""What was said goes to the record: its sound as a clip, its reading as an event."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from bayhelper.decide.job.state import Job
from bayhelper.remember.clips import NO_CLIP, Clip, Clips
from bayhelper.terms.events import SpeechHeard
from bayhelper.terms.utterance import Hearing, Utterance


@dataclass(frozen=True)
class KeptUtterance:
    """One utterance under its own number."""

    id: str
    """Such as 'u0012-003': number of the decision to come, and how many were heard before."""
    clip: Clip
    """Its sound; NO_CLIP of a typed line."""


class SoundKeeper:
    """Numbers what is heard, and keeps its sound."""

    def __init__(self, clips: Clips) -> None:
        self._clips = clips
        self._heard = 0

    def keep(self, utterance: Utterance, job: Job | None, job_id: str) -> KeptUtterance:
        """Raises RecordError when the clip cannot be written; `job` is None before one is open."""
        name = "u0001-000"
        if job is not None:
            self._heard += 1
            name = f"u{job.number + 1:04d}-{self._heard:03d}"
        sound = utterance.sound
        return KeptUtterance(name, self._clips.keep(job_id, name, sound) if sound else NO_CLIP)

    def heard(
        self, hearing: Hearing, job: Job | None, job_id: str, at_utc: datetime
    ) -> SpeechHeard:
        """What is recorded of one utterance, understood or not. Raises RecordError as `keep`."""
        kept = self.keep(hearing.utterance, job, job_id)
        command = hearing.command
        return SpeechHeard(
            at_utc=at_utc,
            utterance=kept.id,
            text=hearing.text,
            command=command.name if command else "",
            slots=dict(command.slots) if command else {},
            accepted=hearing.accepted,
            why=hearing.why,
            confidence=round(hearing.confidence, 3),
            engine=hearing.engine,
            clip=kept.clip.name,
            clip_sha256=kept.clip.sha256,
        )
