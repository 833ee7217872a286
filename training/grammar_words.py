"""Print every word of the shipped grammars, in both dialects, one a line.

python -m training.grammar_words > grammar.txt
"""

from __future__ import annotations

import argparse
from dataclasses import replace

from bayhelper.run.parts import build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.sheets.reading import shipped_ids


def parser() -> argparse.ArgumentParser:
    """The command line: nothing can be chosen."""
    return argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])


def main() -> None:
    """Also those of every body: panels and halves are named differently."""
    parser().parse_args()
    library = build_library()
    words: set[str] = set()
    for body in shipped_ids("bodies"):
        for dialect in ("uk", "us"):
            settings = replace(Settings(), body=body, dialect=dialect)
            words |= set(library.offer(build_scope(settings)).words())
    print("\n".join(sorted(words)))


if __name__ == "__main__":
    main()
