"""What the kiln will do with a plan, in a process of its own: ``python -m web.plans.foresee_process``.

The page must answer others meanwhile; learning the kiln from a dozen firings takes some seconds on a small machine.
Nothing is written.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from web.request.child_process import ChildProcess

LONGEST_S = 60.0
"""A forecast that takes longer is ended [s]. [chosen: nobody waits longer for a page]"""
_PROCESS = ChildProcess("web.plans.foresee_process", LONGEST_S)


def foreseen_today(arguments: Sequence[str]) -> Mapping[str, Any] | None:
    """Return what ``main`` prints for these arguments; None where another one is made just now, or it failed."""
    return _PROCESS.run(arguments)


def main(arguments: list[str] | None = None) -> int:
    """Print the forecast as JSON; ``{}`` where the kiln has not fired by a plan yet."""
    from zoneinfo import ZoneInfo

    from daemon.firing.plan.schedule import planned_parts
    from daemon.firing.units import Units
    from daemon.glass.materials import FAMILIES
    from daemon.kiln.foresight import foresee
    from daemon.kiln.learn import learn
    from daemon.kiln.told import Clock, learned, rows, sentences
    from daemon.lifecycle.kiln_from_store import past_firings
    from daemon.store import plans
    from daemon.store.database import open_database

    parser = argparse.ArgumentParser()
    parser.add_argument("database", type=Path)
    parser.add_argument("kiln", type=int)
    parser.add_argument("plan", type=int)
    parser.add_argument("--glass", choices=tuple(FAMILIES), default="90")
    parser.add_argument("--starts", type=datetime.fromisoformat)
    parser.add_argument("--zone", type=ZoneInfo)
    args = parser.parse_args(arguments)
    db = open_database(args.database, readonly=True)
    stored = plans.plan(db, args.plan)
    model = learn(past_firings(db, args.kiln, args.zone))
    if stored is None or model is None:
        sys.stdout.write("{}")
        return 0
    plan, glass = stored.parsed(), FAMILIES[args.glass]
    planned, words, clock = planned_parts(plan), Units(plan.unit), Clock(args.starts)
    found = foresee(planned, model, planned[0].from_c)
    json.dump({
        "learned": learned(model), "rows": [row._asdict() for row in rows(planned, model, found, words, clock)],
        "sentences": list(sentences(planned, model, found, glass, words, clock)), "starts_s": model.starts_s,
        "curve": found.curve,
    }, sys.stdout, allow_nan=False)
    return 0


if __name__ == "__main__":
    sys.exit(main())
