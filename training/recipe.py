"""Make the acoustic model that ships anew: print the steps of training/recipe.toml, or run them.

    python -m training.recipe                                    # as a shell script
    python -m training.recipe --work FOLDER                      # run them all; speech takes hours
    python -m training.recipe --work FOLDER --from course-1a     # begin in the middle

All files of the steps lie in the folder. Needs what training/requirements.txt names; only the
courses need a GPU. A step that fails ends the run, and --from takes it up again there.
"""

from __future__ import annotations

import argparse
import os
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from training.speakers import RecipeError

RECIPE = Path(__file__).with_name("recipe.toml")
"""The shipped model's."""
ROOT = Path(__file__).parent.parent
"""Top of the source tree, which every step imports from."""


@dataclass(frozen=True)
class Step:
    """One command."""

    name: str
    """To be named by --from and --to."""
    module: str
    """What Python runs."""
    arguments: tuple[str, ...]
    """What it is given; paths are relative to the folder of the run."""
    writes: str
    """File that what it prints goes to; empty where that is the terminal."""
    unknown: str
    """What is not known any more of how the shipped model was made; empty where all is."""

    @property
    def line(self) -> str:
        """As it is typed into a shell."""
        end = f" > {shlex.quote(self.writes)}" if self.writes else ""
        return shlex.join(["python", "-m", self.module, *self.arguments]) + end


def read_steps(path: Path = RECIPE) -> list[Step]:
    """All steps in their order; RecipeError where one lacks its name or its command."""
    rows = tomllib.loads(path.read_text(encoding="utf-8")).get("step", [])
    steps = []
    for number, row in enumerate(rows, 1):
        words = shlex.split(row.get("run", ""))
        if not words or not row.get("name"):
            raise RecipeError(
                f"{path.name}, step {number}: expected name and run, got {', '.join(row)}: add both"
            )
        note = " ".join(row.get("unknown", "").split())
        steps.append(Step(row["name"], words[0], tuple(words[1:]), row.get("writes", ""), note))
    return steps


def between(steps: Sequence[Step], first: str | None, last: str | None) -> list[Step]:
    """From one step to another, both included; RecipeError for a name that is none."""
    names = [step.name for step in steps]
    for name in (first, last):
        if name is not None and name not in names:
            raise RecipeError(f"expected a step among {', '.join(names)}; got {name!r}")
    low = 0 if first is None else names.index(first)
    high = len(steps) if last is None else names.index(last) + 1
    return list(steps[low:high])


def run(step: Step, work: Path) -> None:
    """Run it in the folder; RecipeError when it fails, and then its file is not written."""
    known = os.environ.get("PYTHONPATH")
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, (str(ROOT), known)))}
    command = [sys.executable, "-m", step.module, *step.arguments]
    printed = work / f"{step.writes or step.name}.part"
    if step.writes:
        with printed.open("wb") as out:
            done = subprocess.run(command, cwd=work, env=environment, stdout=out, check=False)
    else:
        done = subprocess.run(command, cwd=work, env=environment, check=False)
    if done.returncode != 0:
        raise RecipeError(
            f"step {step.name} ended with {done.returncode}, see above: put that right, then run "
            f"again with --from {step.name}"
        )
    if step.writes:
        printed.replace(work / step.writes)


def script(steps: Sequence[Step]) -> str:
    """The steps as a shell script, with what is not known of them."""
    lines = ["set -e"]
    for step in steps:
        lines += ["", f"# {step.name}", *([f"# Not known: {step.unknown}"] if step.unknown else [])]
        lines.append(step.line)
    return "\n".join(lines)


def parser() -> argparse.ArgumentParser:
    """The command line."""
    read = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    read.add_argument("--work", type=Path, help="folder to run in; without it they are printed")
    read.add_argument("--from", dest="first", help="the first step, by its name")
    read.add_argument("--to", dest="last", help="the last step, by its name")
    return read


def main(argv: Sequence[str] | None = None) -> int:
    """The command line; gives the exit status."""
    options = parser().parse_args(argv)
    try:
        steps = between(read_steps(), options.first, options.last)
        if options.work is None:
            print(script(steps))
            return 0
        options.work.mkdir(parents=True, exist_ok=True)
        for step in steps:
            print(f"== {step.name}", flush=True)
            run(step, options.work)
    except RecipeError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
