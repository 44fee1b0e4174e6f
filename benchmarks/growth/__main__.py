"""What a record of ten years costs: ``python -m benchmarks.growth [--firings 50 500 5000]``.

For each size a record is made in a temporary folder: firings of 20 h with a reading every 5 s, and for each two
pieces, two notes, two outcomes and two small photographs. Then each page is asked through the Flask app in a process
of its own, the daemon is watched there with a firing open, and each command is run, one after another. The largest
size takes 1.8 GB, as much again for the copy, and some ten minutes. Prints a table and what was missed; ends with 1
where something was.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from benchmarks.daemon_at_rest import measure_in
from benchmarks.growth import record
from benchmarks.growth.commands import lehrling, middle, page, run
from benchmarks.growth.page import COPY, EXPORT, PAGES, VERIFY, Size, missed, table
from daemon.clock import SystemClock
from web.firings.listing import PAGE

FIRINGS = (50, 500, 5000)
PAGE_RUNS = 9
_COMMAND_RUNS = 3
_ONCE_FROM = 500
"""A record of so many firings is copied and verified once only. [chosen: a run takes minutes]"""


def measure(folder: Path, grown: record.Grown, page_runs: int, daemon_s: float) -> Size:
    """Measure pages, commands and daemon on a record.

    Parameters
    ----------
    folder
        Holds the record and its photographs.
    grown
        What ``record.grow`` made there.
    page_runs
        How often each page is asked after the first time.
    daemon_s
        How long the daemon is watched [s]; 0 leaves it out.
    """
    late = max(1, grown.firings // PAGE)
    paths = {name: path.format(first=1, last=grown.firings, late=late) for name, (path, _) in PAGES.items()}
    pages = {}
    for name, path in paths.items():
        pages[name] = page(folder, path, page_runs)
        _say(f"{path}: {pages[name]}")
    daemon = measure_in(folder, "bench", daemon_s) if daemon_s else {}
    _say(f"daemon: {daemon}")
    times = 1 if grown.firings >= _ONCE_FROM else _COMMAND_RUNS
    commands, made = {}, [folder / "exported", folder / "backups"]
    for name, arguments in ((EXPORT, ("archive", "export", made[0], "--piece", grown.piece)),
                            (COPY, ("copies", "make")), (VERIFY, ("archive", "verify", "--json"))):
        costs = []
        for _ in range(times):
            costs.append(run(lehrling(*arguments, "--data", folder, "--run", folder / "run")))
            for one in made:
                shutil.rmtree(one, ignore_errors=True)
        commands[name] = middle(costs)
        _say(f"{name}: {commands[name]}")
    return Size(grown, pages, commands, daemon)


def main(arguments: list[str] | None = None) -> int:
    """Grow, measure, and print; exit code 0 where all that was promised is reached."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.growth", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--firings", type=int, nargs="+", default=FIRINGS, metavar="N", help="sizes of the record")
    parser.add_argument("--readings", type=int, default=record.READINGS_A_FIRING, metavar="N",
                        help="readings of each firing, 5 s apart (default: 14,400, which are 20 h)")
    parser.add_argument("--runs", type=int, default=PAGE_RUNS, metavar="N", help="how often each page is asked")
    parser.add_argument("--daemon-s", type=float, default=60.0, metavar="SECONDS",
                        help="how long the daemon is watched; 0 leaves it out")
    args = parser.parse_args(arguments)
    least = len(record.FIRED)
    if min(args.firings) < least or min(args.readings, args.runs) < 1 or args.daemon_s < 0:
        parser.error(f"--firings takes {least} and more, --readings and --runs 1 and more, --daemon-s 0 and more")
    sizes = []
    for count in args.firings:
        with tempfile.TemporaryDirectory() as scratch:
            began = perf_counter()
            grown = record.grow(Path(scratch), count, args.readings, SystemClock().utc())
            _say(f"{count:,} firings made in {perf_counter() - began:.0f} s: {grown}")
            sizes.append(measure(Path(scratch), grown, args.runs, args.daemon_s))
            _say(f"measured after {perf_counter() - began:.0f} s")
    wrong = missed(sizes)
    sys.stdout.write(table(sizes) + "".join(f"\n- {line}" for line in wrong) + ("\n" if wrong else ""))
    return 1 if wrong else 0


def _say(line: str) -> None:
    """Write to stderr how far it is: the largest size takes long."""
    sys.stderr.write(f"{line}\n")
    sys.stderr.flush()


if __name__ == "__main__":
    sys.exit(main())
