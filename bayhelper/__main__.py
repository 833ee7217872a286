"""Lets `python -m bayhelper` do what the command `bayhelper` does."""

import sys

from bayhelper.run.cli import main

if __name__ == "__main__":
    sys.exit(main())
