"""``lehrling anneal``: the hold and the cooling that a thickness asks for, and which rule says so."""

from __future__ import annotations

import argparse

from daemon.subcommand import Command


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.load_options import add_load_options

    add_load_options(parser, offset=False)
    parser.add_argument("--uneven", action="store_true",
                        help="uneven work: anneal it as twice its thickness")
    out = parser.add_mutually_exclusive_group()
    out.add_argument("--json", action="store_true", help="print the advice as JSON")
    out.add_argument("--plan", metavar="OUT.toml", help="write it as a plan: up as a fused plate, hold, cooling")
    parser.add_argument("--unit", choices=("C", "F"), default="C", help="the unit of that plan (C)")


def _run(args: argparse.Namespace) -> int:
    import json
    import sys

    from daemon.commands.load_options import load_glass, numbers
    from daemon.files import write_text
    from daemon.firing.advice.anneal_text import advice_json, advice_lines, as_plan
    from daemon.firing.plan.plan import write_plan
    from daemon.firing.setup import THICKEST_MM
    from daemon.glass.advice import anneal

    glass = load_glass(args.glass)
    thickest_mm = THICKEST_MM / 2 if args.uneven else THICKEST_MM
    # The thickest piece rules a load; what is enough for it is enough for the others.
    thickness = numbers("--thickness-mm", args.thickness_mm, 0.5, thickest_mm, "mm")[0] * (2 if args.uneven else 1)
    advice = anneal(glass, thickness, args.faces)
    if args.json:
        json.dump(advice_json(advice, uneven=args.uneven), sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
        sys.stdout.write("\n")
        return 0
    if args.plan:
        write_text(args.plan, write_plan(as_plan(advice, args.unit, is_from_cold=True)), like='title = "Anneal, ')
    sys.stdout.writelines(line + "\n" for line in advice_lines(advice, uneven=args.uneven))
    return 0


COMMAND = Command("Say how to anneal a thickness of glass: hold, cooling, and why.", _configure, _run)
