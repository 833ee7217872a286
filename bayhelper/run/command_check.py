"""`bayhelper check`: tries each part, and says what to do when it is wrong."""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict

from bayhelper.run.selfcheck import check_all
from bayhelper.run.settings import data_folder


def run(options: argparse.Namespace) -> int:
    """Print one line a part; 1 when a part that is needed does not work."""
    findings = check_all(data_folder(options.data))
    for finding in findings:
        if options.json:
            print(json.dumps(asdict(finding)))
        else:
            print(f"{finding.state:5} {finding.part:12} {finding.text}")
    return int(any(finding.state == "bad" for finding in findings))
