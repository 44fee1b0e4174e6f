"""``lehrling rehearse``: a simulated firing, as fast as it goes, with the truth beside the judgement."""

from __future__ import annotations

import argparse

from daemon.subcommand import WAKE_RAISED, Command


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.load_options import add_load_options

    parser.add_argument("plan", metavar="PLAN.toml", nargs="?", help="the plan to fire by")
    parser.add_argument("--kiln", default=None, metavar="NAME", help="a kiln of the bench")
    parser.add_argument("--fault", action="append", default=[], metavar="NAME@WHEN",
                        help="what goes wrong, for instance open@step4:hold+600s; may be given again")
    parser.add_argument("--faults", action="store_true", help="list the faults and kilns of the bench")
    parser.add_argument("--seed", default="1", metavar="N", help="the same seed gives the same firing (default: 1)")
    add_load_options(parser)
    parser.add_argument("--json", action="store_true", help="print the whole result as JSON, with the truth")
    parser.add_argument("--trace", metavar="OUT.csv", help="write the simulated trace")
    parser.add_argument("--svg", metavar="OUT.svg", help="draw the firing")


def _run(args: argparse.Namespace) -> int:
    """Simulate and judge the firing; print, write and draw it."""
    from daemon.commands.load_options import load_plan, load_setup, whole
    from daemon.commands.printed.report_text import print_report
    from daemon.errors import BadInput
    from daemon.files import write_text
    from daemon.firing.report import judge
    from simulations.firing import DEFAULT_KILN, read_faults, simulate

    if args.faults:
        return _list()
    if args.plan is None:
        raise BadInput("PLAN.toml", "no plan was given.", "Give a plan, or --faults to list what can go wrong.")
    plan = load_plan(args.plan)
    setup = load_setup(args, plan)
    seed = whole("--seed", args.seed, 0, 2**31 - 1)
    firing = simulate(plan, kiln=args.kiln or DEFAULT_KILN, faults=read_faults(args.fault, plan), seed=seed)
    found = judge(setup, firing.samples)
    if args.trace:
        from daemon.firing.trace.csv_trace import write_trace

        write_text(args.trace, "".join(write_trace(firing.samples)), like="seconds,celsius")
    if args.svg:
        from web.firings.handouts.html_report import picture

        write_text(args.svg, picture(found, firing.samples), like="<svg")
    print_report(found, as_json=args.json, extra={"truth": firing.truth.as_json()})
    return WAKE_RAISED if found.woke else 0


def _list() -> int:
    """Print the faults and kilns of the bench."""
    import sys

    from simulations.faults import KINDS
    from simulations.plant.builds import PRESETS

    sys.stdout.write("Faults (NAME[=SIZE or LENGTH]@WHEN; WHEN is 3600s, 2h or step4:hold+600s):\n")
    sys.stdout.writelines(f"  {kind.name:<12} {kind.meaning}\n" for kind in KINDS.values())
    sys.stdout.write(f"Kilns: {', '.join(PRESETS)}\n")
    return 0


COMMAND = Command("Simulate a firing by a plan, with faults if you like, and judge it.", _configure, _run)
