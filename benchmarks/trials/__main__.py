"""Run one trial of what a box must outlive, and print its figures: ``python -m benchmarks.trials NAME [--short]``.

Exit code 0 where nothing went wrong. ``--short`` is the form that the tests run, in seconds.
"""

from __future__ import annotations

import argparse
import importlib
import json
import sys
import tempfile
from pathlib import Path
from time import perf_counter

NAMES = ("kill-every-write", "stopped", "no-network", "network-away", "older-record", "bad-sector", "sixty-days")


def main() -> int:
    """Run and print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.trials", description="what a box must outlive, tried")
    parser.add_argument("name", choices=NAMES)
    parser.add_argument("--short", action="store_true", help="seconds instead of minutes")
    args = parser.parse_args()
    trial = importlib.import_module(f"benchmarks.trials.{args.name.replace('-', '_')}")
    began = perf_counter()
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as scratch:
        found = trial.run(Path(scratch), short=args.short)
    figures = {"trial": args.name, "seconds": round(perf_counter() - began, 1), **found}
    sys.stdout.write(json.dumps(figures, indent=1) + "\n")
    return 1 if figures["problems"] else 0


if __name__ == "__main__":
    sys.exit(main())
