"""What a newcomer would write to add one of each thing: text put into files at a landmark."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Edit:
    """One insertion."""

    file: str
    """Relative to the repository; a file that is not there is made."""
    text: str
    """What is written."""
    before: str = ""
    """Landmark that it goes in front of, where it stands last; empty for the end of the file."""


EVENT = (
    Edit(
        "bayhelper/terms/subjects/correction.py",
        '''
@dataclass(frozen=True, kw_only=True)
class EdgeTaped(Event):
    panel: str
    """Panel id."""


''',
        before="@dataclass(frozen=True, kw_only=True)\nclass GentlePanelGuard",
    ),
    Edit(
        "bayhelper/decide/job/fold.py",
        "        on(ev.EdgeTaped, lambda j, e: j),\n",
        before="        *TALK_CHANGES,",
    ),
)
"""A fact that the record keeps and that leaves the job as it is."""

COMMAND = (
    *EVENT,
    Edit(
        "bayhelper/terms/subjects/correction.py",
        '''

@dataclass(frozen=True, kw_only=True)
class EdgeTapedReply(Saying):
    """The edge is taped."""

    panel: str
    """Panel id."""
''',
    ),
    Edit(
        "bayhelper/decide/acts/correction.py",
        '''def edge_taped(asked: Asked) -> Outcome:
    """An edge is taped before the machine comes near it."""
    taped = ev.EdgeTaped(at_utc=asked.at_utc, panel=asked.panel)
    return answers.did((taped,), say.EdgeTapedReply(panel=asked.panel))


''',
        before="def _polishes",
    ),
    Edit(
        "bayhelper/decide/acts/correction.py",
        """    Act(
        "edge_taped",
        "An edge is taped.",
        edge_taped,
        needs=(PANEL,),
        stages=MACHINE_OUT,
        taken_back="Tape",
    ),
""",
        before=')\n"""What can be asked for about machine correction."""',
    ),
    Edit(
        "bayhelper/speak/words/correction.py",
        """    says(
        say.EdgeTapedReply,
        lambda saying, names: sentence(f"{part_name(names, saying.panel)} edge taped"),
    ),
""",
        before=')\n"""What is said about machine correction."""',
    ),
    Edit(
        "grammars/correction.jsgf",
        "\n<edge_taped> = (taped the edge of the <panel> {panel=@}) {command=edge_taped};\n",
    ),
)
"""A command with a phrase, a fact and an answer of its own, that can be taken back."""

ALERT = (
    Edit(
        "bayhelper/decide/due/preparing.py",
        """def _long_machining(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    if job.machining and job.pad.last_section_at_utc:
        yield kind.at(job.machining, after(job.pad.last_section_at_utc, 1800.0))


""",
        before="KINDS = (",
    ),
    Edit(
        "bayhelper/decide/due/preparing.py",
        '    AlertKind("long_machining", Urgency.SOFT, _long_machining, reason="It gets hot."),\n',
        before=')\n"""Kinds of alert before the coat',
    ),
    Edit(
        "bayhelper/speak/warnings.py",
        '    "long_machining": AlertWords(_named("half an hour on it"), "long on it"),\n',
        before='}\n"""The words of every kind of alert."""',
    ),
)
"""A reminder with words of its own."""

BODY = (
    Edit(
        "bayhelper/sheets/bodies/kart.toml",
        """id = "kart"
name = "go-kart"

[[panel]]
part = "bonnet"
area_m2 = 0.4
material = "plastic"
height = "upper"

[[panel]]
part = "roof"
area_m2 = 0.3
material = "plastic"
height = "upper"

[seams]
middle = [["bonnet", "roof"]]
""",
    ),
)
"""A car body."""

ENGINE = (
    Edit(
        "bayhelper/hear/engines/parrot_engine.py",
        '''"""A recogniser that reads the same words out of every sound."""

from __future__ import annotations

from collections.abc import Sequence

from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Spotted

WORDS = ("workshop", "copy", "where", "are", "we")
"""What it reads."""


class ParrotEngine:
    """See terms.ports.Engine."""

    name = "parrot"

    def listen(self, sound: Sound, jsgf: str) -> Decode:
        return Decode(WORDS, 0.0)

    def listen_once(self, sound: Sound, jsgf: str) -> Decode:
        return Decode(WORDS, 0.0)

    def listen_freely(self, sound: Sound) -> Decode:
        return Decode(WORDS, 0.0)

    def spot(self, sound: Sound, phrase: str) -> Spotted:
        return Spotted(0.0)

    def missing_words(self, words: Sequence[str]) -> tuple[str, ...]:
        return ()

    def close(self) -> None:
        return
''',
    ),
    Edit(
        "bayhelper/hear/operating_point.py",
        """    "parrot": OperatingPoint(
        addressed=Lines(act=0.0, act_in_noise=0.0, ask=0.0),
        follow_on=Lines(act=0.0, act_in_noise=0.0, ask=0.0),
        address_score=0.0,
        steepness=1.0,
        rival_lead=0.0,
        rival_lead_in_noise=0.0,
    ),
""",
        before='    "vosk_list": OperatingPoint(',
    ),
    Edit(
        "bayhelper/run/parts.py",
        "from bayhelper.hear.engines.parrot_engine import ParrotEngine\n",
        before="from bayhelper.hear.engines.pocketsphinx_engine",
    ),
    Edit(
        "bayhelper/run/parts.py",
        '    "parrot": lambda settings: ParrotEngine(),\n',
        before='}\n"""How each engine is made."""',
    ),
    Edit(
        "bayhelper/run/settings.py",
        '"parrot", ',
        before='"vosk", "pocketsphinx"]',
    ),
)
"""A recogniser that the settings can name."""

SETTING = (
    Edit(
        "bayhelper/run/settings.py",
        '''    bay_name: str = ""
    """What the bay is called."""
''',
        before='    vosk_model: str = ""',
    ),
)
"""A text that a shop can set; who reads it costs a file more."""
