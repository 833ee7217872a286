"""The command line: names, options, exit codes. Each command's work is in a module of its own."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from bayhelper import __version__
from bayhelper.run.commands import body as command_body
from bayhelper.run.commands import check as command_check
from bayhelper.run.commands import demo as command_demo
from bayhelper.run.commands import hear as command_hear
from bayhelper.run.commands import jobs as command_jobs
from bayhelper.run.commands import model as command_model
from bayhelper.run.commands import notes as command_notes
from bayhelper.run.commands import photos as command_photos
from bayhelper.run.commands import phrases as command_phrases
from bayhelper.run.commands import window as command_window
from bayhelper.run.commands import work as command_work
from bayhelper.terms.choices import STAGES
from bayhelper.terms.errors import BayhelperError

DATA_HELP = "folder that keeps the journal, notes and settings (default: ~/.local/share/bayhelper)"
"""Help of an option that every command has."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; 0 when all went well, 1 on an error that is explained, 130 on Ctrl-C."""
    options = parser().parse_args(argv)
    action: Callable[[argparse.Namespace], int] = options.action
    try:
        return action(options)
    except BayhelperError as error:
        print(f"bayhelper: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 0


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    root = argparse.ArgumentParser(
        prog="bayhelper",
        description="A voice and hands-free workflow assistant for an automotive detailing bay.",
    )
    root.add_argument("--version", action="version", version=f"bayhelper {__version__}")
    commands = root.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_demo(commands)
    _add_work(commands)
    _add_hear(commands)
    _add_phrases(commands)
    _add_window(commands)
    _add_jobs(commands)
    _add_check(commands)
    _add_model(commands)
    _add_body(commands)
    return root


def _add(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    summary: str,
    action: Callable[[argparse.Namespace], int],
    *,
    json: bool = True,
) -> argparse.ArgumentParser:
    command = commands.add_parser(name, help=summary, description=summary)
    command.add_argument("--data", type=Path, metavar="DIR", help=DATA_HELP)
    if json:
        command.add_argument("--json", action="store_true", help="print JSON lines")
    command.set_defaults(action=action)
    return command


def _add_demo(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _add(
        commands,
        "demo",
        "Run a whole invented job from recordings, through the real ear.",
        command_demo.run,
    )
    command.add_argument("--out", type=Path, metavar="DIR", help="empty folder for what comes out")
    command.add_argument(
        "--story", type=Path, metavar="FILE", help="another playlist of recordings (TOML)"
    )


def _add_work(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _add(commands, "work", "Follow a job by voice or typed lines.", command_work.run)
    door = command.add_mutually_exclusive_group()
    door.add_argument(
        "--from-audio",
        nargs="+",
        type=Path,
        metavar="FILE",
        help="recordings (WAV, FLAC) or playlists (TOML), one after the other",
    )
    door.add_argument(
        "--stdin", action="store_true", help="raw 16-bit mono sound on standard input"
    )
    door.add_argument("--typed", action="store_true", help="typed lines on standard input")
    command.add_argument("--rate", type=int, default=16000, metavar="HZ", help="rate of --stdin")
    command.add_argument(
        "--fast", action="store_true", help="do not wait: the clock advances by what is heard"
    )
    command.add_argument("--plan", help="service plan for a job that is opened")
    command.add_argument("--body", help="car body for a job that is opened")
    command.add_argument("--engine", help="vosk or pocketsphinx")


def _add_hear(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _add(commands, "hear", "Say what was understood in recordings.", command_hear.run)
    command.add_argument("files", nargs="+", type=Path, metavar="FILE", help="WAV or FLAC")
    command.add_argument("--grammar", type=Path, metavar="FILE", help="any JSGF grammar instead")
    command.add_argument("--stage", choices=STAGES, help="only what this stage allows")
    command.add_argument("--engine", metavar="NAME", help="vosk or pocketsphinx")
    command.add_argument(
        "--segments", action="store_true", help="one line for each utterance that is found"
    )


def _add_phrases(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _add(commands, "phrases", "Show what may be said.", command_phrases.run)
    command.add_argument("--stage", choices=STAGES, help="only what this stage allows")
    command.add_argument("--sample", type=int, metavar="N", help="N whole commands to say")
    command.add_argument("--seed", type=int, default=0, metavar="S", help="seed of the sample")


def _add_window(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _add(
        commands, "window", "Reckon a coating's setting window in some air.", command_window.run
    )
    command.add_argument(
        "--product",
        default=command_window.DEFAULT_PRODUCT,
        metavar="NAME",
        help="id or name of a coating, or a TOML sheet (default: the demo's)",
    )
    command.add_argument("--air-c", type=float, required=True, metavar="T", help="air, °C")
    command.add_argument("--humidity", type=float, required=True, metavar="RH", help="percent")
    command.add_argument("--panel-c", type=float, metavar="T", help="panel, °C (else the air's)")
    command.add_argument("--chart", type=Path, metavar="FILE", help="draw it as SVG")
    command.add_argument("--job", metavar="JOB", help="whose wipes are drawn (default: the last)")


def _add_jobs(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    _add(commands, "jobs", "List the jobs.", command_jobs.run_jobs)
    show = _add(commands, "show", "Show the record of one job.", command_jobs.run_show)
    show.add_argument("job", metavar="JOB", help="id of the job")
    notes = _add(commands, "notes", "List the notes of one job.", command_notes.run)
    notes.add_argument("job", metavar="JOB", help="id of the job")
    notes.add_argument(
        "--again", action="store_true", help="first read their recordings anew, and keep that too"
    )
    photos = _add(commands, "photos", "Keep photographs with one job.", command_photos.run)
    photos.add_argument("job", metavar="JOB", help="id of the job")
    photos.add_argument(
        "--from", dest="source", type=Path, metavar="FOLDER", help="folder that the pictures lie in"
    )
    export = _add(commands, "export", "Print every event of one job.", command_jobs.run_export)
    export.add_argument("job", metavar="JOB", help="id of the job")


def _add_check(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    check = _add(
        commands, "check", "Try each part, and say what to do if it is wrong.", command_check.run
    )
    check.add_argument(
        "--room", action="store_true", help="play the alert tones and say how plain they are here"
    )
    check.add_argument(
        "--room-files",
        nargs="+",
        type=Path,
        metavar="FILE",
        help="the same from recordings: the noise alone, then the soft, due and urgent tone in it",
    )


def _add_model(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    model = commands.add_parser("model", help="Vosk models.", description="Vosk models.")
    verbs = model.add_subparsers(title="verbs", required=True, metavar="VERB")
    get = _add(verbs, "get", "Fetch an English model through the vosk package.", command_model.run)
    get.add_argument("name", nargs="?", metavar="NAME", help="name of the model")


def _add_body(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    body = commands.add_parser("body", help="Car bodies.", description="Car bodies.")
    verbs = body.add_subparsers(title="verbs", required=True, metavar="VERB")
    checked = _add(verbs, "check", "Say whether a body's sheet is sound.", command_body.check)
    drawn = _add(verbs, "draw", "Draw a body from above, as SVG.", command_body.draw)
    for command in (checked, drawn):
        command.add_argument("body", metavar="FILE", help="TOML file, or the id of a shipped body")
    drawn.add_argument("--out", type=Path, metavar="FILE", help="the drawing (default: ID.svg)")


if __name__ == "__main__":
    sys.exit(main())
