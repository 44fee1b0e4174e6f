"""``lehrling plan check``: a plan read back in both units, with what is doubtful for the load."""

from __future__ import annotations

import argparse

from daemon.subcommand import Command


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.load_options import add_load_options

    actions = parser.add_subparsers(dest="action", metavar="check", required=True)
    check = actions.add_parser("check", help="read a plan back and say what is doubtful",
                               description="Read a plan back in °C and °F, with its length and what is doubtful.")
    check.add_argument("plan", metavar="PLAN.toml")
    add_load_options(check, offset=False, may_be_empty=True)


def _run(args: argparse.Namespace) -> int:
    import sys

    from daemon.commands.load_options import load_plan, load_setup
    from daemon.firing.advice.plan_check import doubt_lines
    from daemon.firing.advice.plan_glass import plan_glass_lines, planned_figures
    from daemon.firing.plan.read_back import reading_back
    from daemon.firing.units import NO_SAFETY_DEVICE

    plan = load_plan(args.plan)
    setup = load_setup(args, plan, may_be_empty=True)
    out = [*reading_back(plan), ""]
    out += [] if setup.is_empty else [*plan_glass_lines(setup, planned_figures(setup)), ""]
    out += doubt_lines(setup)
    out += ["", "The data sheet of your glass and the manual of your kiln come first. " + NO_SAFETY_DEVICE]
    sys.stdout.writelines(line + "\n" for line in out)
    return 0


COMMAND = Command("Work with plans: read one back and check it against a load.", _configure, _run)
