"""Run it and print its figures: ``python -m benchmarks.studio [--short]``.

Debian's own PostgreSQL, Mosquitto and Prometheus run on loopback, in a folder that is removed. The boxes' records are
written by the daemon's own store functions, many times faster than a kiln is. Exit code 0 where nothing went wrong.
``--short`` is the form that a test runs: three boxes, some seconds.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from benchmarks.studio.cluster import programs
from benchmarks.studio.run import LONG, SHORT, missing, run


def main() -> int:
    """Run and print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.studio", description="a studio's server, tried")
    parser.add_argument("--short", action="store_true", help="three boxes, some seconds")
    args = parser.parse_args()
    if programs() is None:
        sys.stderr.write("Debian's postgresql is not installed.\n")
        return 2
    began_s = perf_counter()
    with tempfile.TemporaryDirectory(prefix="lehrling-studio-", dir="/tmp") as scratch:
        Path(scratch).chmod(0o711)  # PostgreSQL runs as a user of its own
        found = run(Path(scratch), SHORT if args.short else LONG)
    left_out = missing(("mosquitto", "prometheus"))
    sys.stdout.write(json.dumps({"seconds": round(perf_counter() - began_s, 1), "not_installed": left_out, **found},
                                indent=1) + "\n")
    return 1 if found["problems"] else 0


if __name__ == "__main__":
    sys.exit(main())
