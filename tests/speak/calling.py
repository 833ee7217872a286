"""Alerts and sentences to try the words on."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from bayhelper.decide.due.deadlines import KINDS
from bayhelper.terms.saying import Called, DueAlert, Saying, topic_of


def alert(*rows: tuple, neighbours: tuple[str, ...] = ()) -> DueAlert:
    """Of kind, subject, seconds until due, and perhaps seconds until too late."""
    called = tuple(
        Called(row[0], row[1], float(row[2]), float(row[-1]), KINDS[row[0]].urgency, "")
        for row in rows
    )
    reason = KINDS[called[0].alert].reason if len(called) == 1 else ""
    return DueAlert(called=called, neighbours=neighbours, reason=reason)


def kinds() -> dict[str, type[Saying]]:
    """Every class of sayings by topic, but for alerts."""
    return {topic_of(kind): kind for kind in Saying.__subclasses__() if kind is not DueAlert}


FIELDS: dict[str, Any] = {
    "panel": "left_front_wing",
    "half": "",
    "plan": "one-step polish and coat",
    "stage": "coating",
    "now": "wash",
    "following": "cure",
    "text": "Hello.",
    "parts": ("bonnet/left", "roof"),
    "bare": ("left_front_door+left_front_wing",),
    "unwiped": ("left_front_door+left_front_wing",),
    "temp_c": 21.5,
    "humidity_percent": 55.0,
    "margin_c": 1.4,
    "what": "panel too hot",
    "earliest_s": 180.0,
    "best_s": 240.0,
    "film_um": 112.0,
    "mean_um": 115.0,
    "count": 2,
    "wrapped": False,
    "flag": "wrapped",
    "agent": "iron_remover",
    "agents": ("iron_remover",),
    "rinse_in_s": 180.0,
    "wipe_in_s": 300.0,
    "neighbours": ("left_front_door", "bonnet"),
    "neighbour": "left_front_door",
    "again_in_s": 60.0,
    "covered_for_s": 240.0,
    "all_round": False,
    "place": "rear_edge",
    "age_s": 30.0,
    "known": False,
    "found": "high_spot",
    "surface": "single_stage",
    "hot": True,
    "missing": ("batch", "surface"),
    "stood_s": 700.0,
    "batch": "4072",
    "extra_s": 60.0,
    "layers": 1,
    "layer": 2,
    "had_s": 130.0,
    "laying": False,
    "best_in_s": 100.0,
    "latest_in_s": 280.0,
    "seams": ("left_front_door+left_front_wing", "left_front_wing+left_sill"),
    "done": 3,
    "total": 15,
    "paused": False,
    "in_s": 40.0,
    "part": "roof",
    "first": "roof",
    "act": "Covered",
    "phrase": "roof level",
    "state": "covered",
    "off_s": 1200.0,
    "rule": "Keep dry and free of dust",
    "for_s": 86_400.0,
}
"""A value for each field of any saying."""
OTHERS: dict[str, tuple[Any, ...]] = {
    "panel": ("roof",),
    "half": ("left",),
    "plan": ("coat only",),
    "stage": ("inspection",),
    "now": ("intake",),
    "following": ("",),
    "text": ("Good day.",),
    "parts": (("roof", "bonnet"),),
    "bare": ((),),
    "unwiped": (("a+b", "c+d"),),
    "what": ("air too dry",),
    "count": (1,),
    "wrapped": (True,),
    "flag": ("repainted",),
    "agent": ("tar_remover",),
    "agents": (("tar_remover",),),
    "neighbours": (("bonnet",),),
    "neighbour": ("roof",),
    "all_round": (True,),
    "place": ("handle",),
    "age_s": (4000.0,),
    "known": (True,),
    "found": ("run",),
    "surface": ("wrap",),
    "hot": (False,),
    "missing": ((),),
    "batch": ("12",),
    "laying": (True,),
    "seams": ((),),
    "paused": (True,),
    "part": ("bonnet",),
    "first": ("",),
    "act": ("Trial wipe",),
    "phrase": ("roof buffed",),
    "state": ("buffed",),
    "rule": ("No washing",),
}
"""Another value for each field; of a number, three times as much."""


def sample(kind: type[Saying], **given: Any) -> Saying:
    """A saying with a value in each of its fields."""
    return kind(**{field.name: given.get(field.name, FIELDS[field.name]) for field in fields(kind)})
