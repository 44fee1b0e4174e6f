"""Judging a kept firing by today's rules, in a process of its own: ``python -m web.firings.rejudge_process``.

The page must answer others meanwhile; a firing of two days takes some seconds on a small machine. Nothing is
written: the judgement and the alerts of that night are kept unchanged.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from web.request.child_process import ChildProcess

LONGEST_S = 120.0
"""A judgement that takes longer is ended [s]. [chosen: nobody waits longer for a page]"""
_PROCESS = ChildProcess("web.firings.rejudge_process", LONGEST_S)


def judged_today(path: Path, firing_id: int, unit: str) -> Mapping[str, Any] | None:
    """Return the judgement of today's rules; None where another one is being made just now, or it failed."""
    return _PROCESS.run([str(path), str(firing_id), unit])


def main(arguments: list[str] | None = None) -> int:
    """Print the judgement as JSON."""
    from daemon.firing.report import alert_json, judge
    from daemon.firing.setup import Reads
    from daemon.firing.verdict.glass_verdict import glass_json
    from daemon.lifecycle.resume import entries
    from daemon.lifecycle.setup_from_store import known_setup
    from daemon.store import firings
    from daemon.store.database import open_database

    parser = argparse.ArgumentParser()
    parser.add_argument("database", type=Path)
    parser.add_argument("firing", type=int)
    parser.add_argument("unit", choices=("C", "F"))
    args = parser.parse_args(arguments)
    db = open_database(args.database, readonly=True)
    firing = firings.firing(db, args.firing)
    if firing is None:
        return 2
    found = judge(known_setup(db, firing, Reads(args.unit)), entries(db, firing.firing_id))
    json.dump({
        "verdict": found.verdict_json(),
        "alerts": [alert_json(alert, found.alerts) for alert in found.alerts],
        "glass": glass_json(found.setup.glass, found.suffered, found.glass_lost),
        "peak_c": found.peak_c,
    }, sys.stdout, allow_nan=False)
    return 0


if __name__ == "__main__":
    sys.exit(main())
