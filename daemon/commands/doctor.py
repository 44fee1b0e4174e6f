"""``lehrling doctor``: looks over the whole box and says of each part that it is good, or what to do."""

from __future__ import annotations

import argparse
import sys

from daemon.commands.folders import add_places, places_of
from daemon.commands.printed.findings_text import TO_MEND, hand_is_right, write_findings
from daemon.subcommand import Command


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
    from daemon.doctor.examine import examine, keep

    places = places_of(args, "doctor")
    if args.warm_hand:
        return 0 if hand_is_right(places) else TO_MEND
    result = examine(places, SystemClock(), Computer(), may_open_probe=not args.leave_probe)
    keep(result, args.data)
    if args.json:
        sys.stdout.write(json.dumps(result.as_json(), ensure_ascii=False, indent=2) + "\n")
    else:
        write_findings(result.findings)
    return 0 if result.is_good else TO_MEND


COMMAND = Command("look over the whole box: what is good, and what to do about the rest", configure, run)
