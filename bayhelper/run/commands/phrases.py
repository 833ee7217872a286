"""`bayhelper phrases`: what may be said, and samples of it."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace

from bayhelper.decide.acts.catalogue import ACTS, of_stage
from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import data_folder, load_settings
from bayhelper.understand.sample import canonical, sample


def run(options: argparse.Namespace) -> int:
    """A help card, or N whole commands drawn from the grammars."""
    settings = load_settings(data_folder(options.data))
    library, scope = build_library(), build_scope(settings)
    if options.stage is not None:
        scope = replace(scope, commands=of_stage(options.stage))
    offer = library.offer(scope)
    if options.sample is None:
        order = list(ACTS)
        for command, phrase in sorted(canonical(offer), key=lambda row: order.index(row[0])):
            if options.json:
                row = {"command": command, "say": phrase, "meaning": ACTS[command].meaning}
                print(json.dumps(row))
            else:
                print(f"{phrase:48}  {ACTS[command].meaning}")
        if not options.json:
            print(f"\nSay '{offer.address}' first.")
        return 0
    for say, command, slots in sample(offer, options.sample, options.seed):
        if options.json:
            print(json.dumps({"say": say, "command": command, "slots": slots}))
        else:
            print(say)
    return 0
