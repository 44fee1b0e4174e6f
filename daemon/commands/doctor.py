"""``lehrling doctor``: looks over the whole box and says of each part that it is good, or what to do."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from daemon.commands.folders import add_places, keep_files_private, refuse_no_folder, refuse_root, settings_file
from daemon.errors import BadInput
from daemon.subcommand import Command

if TYPE_CHECKING:
    from daemon.doctor.examine import Places, Result

TO_MEND = 1
"""Exit code where something is to be mended. [chosen: as a trial alert that was not delivered; 2 is bad input]"""
_WIDE = 20
"""Width of the column of parts [characters]. [chosen: the longest name of a part]"""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_places(parser, run_holds="the present state")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")
    parser.add_argument("--leave-probe", action="store_true", help="do not open the probe where no daemon runs")
    parser.add_argument("--warm-hand", action="store_true",
                        help="only tell whether the thermocouple's wires are swapped, by a hand at its tip; "
                        "cold kiln only")


def run(args: argparse.Namespace) -> int:
    """Look over the box; 1 where something is to be mended."""
    import json

    from daemon.clock import SystemClock
    from daemon.doctor.computer import Computer
    from daemon.doctor.examine import Places, examine, keep

    refuse_root(args.data, os.geteuid())
    refuse_no_folder(args, "Give its data folder, or install Lehrling as docs/install.md says.")
    if not os.access(args.data, os.R_OK | os.X_OK):
        raise BadInput(f"--data {args.data}", "you may not look into it.", "Type: sudo -u lehrling lehrling doctor")
    keep_files_private()
    places = Places(args.data, args.run_dir, settings_file(args))
    if args.warm_hand:
        return _warm_hand(places)
    result = examine(places, SystemClock(), Computer(), may_open_probe=not args.leave_probe)
    keep(result, args.data)
    if args.json:
        sys.stdout.write(json.dumps(result.as_json(), ensure_ascii=False, indent=2) + "\n")
    else:
        _write(result)
    return 0 if result.is_good else TO_MEND


def _write(result: Result) -> None:
    """Write a line for each part, and below it what to do."""
    from daemon.doctor.finding import State

    words = {State.GOOD: "good", State.NOTE: "note", State.MEND: "MEND"}
    for finding in result.findings:
        sys.stdout.write(f"{words[finding.state]}  {finding.part:<{_WIDE}}  {finding.said}\n")
        if finding.do:
            sys.stdout.write(f"{'':{_WIDE + 8}}{finding.do}\n")
    count = sum(finding.state is State.MEND for finding in result.findings)
    sys.stdout.write("\nNothing is to be mended." if not count else
                     f"\n{count} thing{'' if count == 1 else 's'} to mend.")
    sys.stdout.write(" This is a helper, not a safety device.\n")


def _warm_hand(places: Places) -> int:
    """Watch the probe while its tip is held in a hand."""
    from daemon.clock import SystemClock
    from daemon.doctor.warm_hand import CAUTION, WORDS, Verdict, watch_hand
    from daemon.doctor.warm_hand_probe import reads

    clock = SystemClock()
    sys.stdout.write(f"{CAUTION}\n")
    with reads(places, clock) as read_c:
        sys.stdout.write("Hold the tip of the thermocouple in your warm hand. This takes two minutes at the most.\n")
        sys.stdout.flush()
        verdict = watch_hand(read_c, clock.now_s, lambda s: clock.sleep_until(clock.now_s() + s), _show)
    sys.stdout.write(f"{WORDS[verdict]}\n")
    return 0 if verdict is Verdict.RIGHT else TO_MEND


def _show(temp_c: float) -> None:
    """Show a reading on a terminal; a pipe gets none."""
    if sys.stdout.isatty():
        sys.stdout.write(f"\r{temp_c:6.1f} °C ")
        sys.stdout.flush()


COMMAND = Command("look over the whole box: what is good, and what to do about the rest", configure, run)
