"""``lehrling replay``: a recorded trace judged as if it were live."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from daemon.subcommand import WAKE_RAISED, Command

if TYPE_CHECKING:
    from daemon.firing.events import Sample
    from daemon.firing.report import Report


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.load_options import add_load_options

    parser.add_argument("trace", metavar="TRACE.csv", help="rows of seconds,celsius,fault")
    parser.add_argument("--plan", metavar="PLAN.toml", help="the plan it was fired by")
    add_load_options(parser)
    parser.add_argument("--other", metavar="PLAN.toml", action="append", default=[],
                        help="another plan that may have been run instead; may be given again")
    out = parser.add_mutually_exclusive_group()
    out.add_argument("--json", action="store_true", help="print the whole result as JSON")
    out.add_argument("--report", metavar="OUT.html", help="write the result as one page with its drawing")


def _run(args: argparse.Namespace) -> int:
    from dataclasses import replace

    from daemon.commands.load_options import load_plan, load_setup
    from daemon.commands.printed.report_text import print_report
    from daemon.commands.printed.trace_warnings import caveats, refuse_two_firings
    from daemon.errors import BadInput
    from daemon.files import read_text
    from daemon.firing.report import judge
    from daemon.firing.trace.csv_trace import read_trace

    if args.other and not args.plan:
        raise BadInput("--other", "is compared with the plan it was fired by, and there is none.", "Add --plan.")
    setup = load_setup(args, load_plan(args.plan) if args.plan else None)
    setup = replace(setup, others=tuple(load_plan(path) for path in args.other))
    trace = read_trace(read_text(args.trace, what="trace").splitlines(), args.trace)
    refuse_two_firings(trace, args.trace)
    found = replace(judge(setup, trace.samples), caveats=caveats(trace, setup.plan))
    if args.report:
        _report(args.report, found, trace.samples)
    else:
        print_report(found, as_json=args.json)
    return WAKE_RAISED if found.woke else 0


def _report(path: str, found: Report, samples: list[Sample]) -> None:
    from importlib.metadata import entry_points

    from daemon.files import write_text

    # The page's layer draws; found by name, so that this layer does not import it.
    (point,) = entry_points(group="lehrling.reports", name="html")
    write_text(path, point.load()(found, samples), like="<!doctype html>")


COMMAND = Command("Judge a recorded trace as if it were live.", _configure, _run)
