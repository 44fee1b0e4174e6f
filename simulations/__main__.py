"""``python -m simulations``: studies of the watcher on the bench, named firings, and single ones of them."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from daemon.errors import BadInput

if TYPE_CHECKING:
    from simulations.studies.scoring import Answer, Score


def main(arguments: list[str] | None = None) -> int:
    """Run the command; return 0, 2 for bad input, 3 where a single firing woke."""
    parser = argparse.ArgumentParser(prog="python -m simulations", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    study = commands.add_parser("study", help="fire, judge and count many firings")
    study.add_argument("--clean", type=int, default=100, metavar="N", help="firings with nothing wrong (100)")
    study.add_argument("--harsh", type=int, default=None, metavar="N",
                       help="clean firings on a wretched probe (a fifth of the clean ones)")
    study.add_argument("--faulty", type=int, default=200, metavar="N", help="firings with something wrong (200)")
    study.add_argument("--seed", type=int, default=1, metavar="S", help="another number, other firings (1)")
    study.add_argument("--only", default="", metavar="ROW,ROW", help="these rows only; a name's beginning will do")
    study.add_argument("--plant", choices=("first", "glow", "second"), default="first",
                       help="glow: probes that see much of the elements; second: kilns of another structure, which "
                            "judge, and no rule is tuned on them (first)")
    study.add_argument("--jobs", type=int, default=None, metavar="N", help="processes (all cores)")
    study.add_argument("--out", type=Path, default=None, metavar="DIR", help="write figures file and plot there")
    study.add_argument("--sheets", action="store_true",
                       help="with --out, also draw every false wake and every miss there, as two sheets")
    case = commands.add_parser("case", help="one firing of a study, or a scenario, again")
    case.add_argument("name", metavar="NAME", help="as a study lists it, for instance clean-1000017")
    case.add_argument("--svg", metavar="OUT.svg", help="draw it")
    case.add_argument("--trace", metavar="OUT.csv", help="write its readings, for lehrling replay")
    case.add_argument("--plan", metavar="OUT.toml", help="write its plan")
    hunt = commands.add_parser("hunt", help="search for the firings in which the watcher does worst")
    hunt.add_argument("--for", dest="aim", choices=("wakes", "silence"), default="wakes",
                      help="quiet firings that wake loudest, or faults that are told latest or never (wakes)")
    hunt.add_argument("--seed", type=int, default=1, metavar="S", help="another number, other firings (1)")
    hunt.add_argument("--draws", type=int, default=60, metavar="N", help="firings drawn at random first (60)")
    hunt.add_argument("--steps", type=int, default=120, metavar="N", help="small changes tried on the worst (120)")
    hunt.add_argument("--minutes", type=float, default=15.0, metavar="M", help="ends sooner after this (15)")
    hunt.add_argument("--keep", type=int, default=0, metavar="N", help="write the N worst into the file (0)")
    hunt.add_argument("--again", action="store_true", help="only judge the firings that were kept")
    named = commands.add_parser("scenarios", help="the named firings: what a watcher makes of each")
    named.add_argument("names", metavar="NAME", nargs="*", help="these only")
    named.add_argument("--list", action="store_true", help="only say what each is about")
    energy = commands.add_parser("energy", help="whether the energy estimate holds its spread")
    energy.add_argument("--kilns", type=int, default=30, metavar="N", help="with three firings each (30)")
    energy.add_argument("--seed", type=int, default=1, metavar="S", help="of the first kiln (1)")
    energy.add_argument("--plant", choices=("first", "second"), default="first", help="which kilns (first)")
    energy.add_argument("--jobs", type=int, default=None, metavar="N", help="processes (all cores)")
    args = parser.parse_args(arguments)
    try:
        return {"study": _study, "case": _case, "hunt": _hunt, "scenarios": _scenarios,
                "energy": _energy}[args.command](args)
    except BadInput as err:
        sys.stderr.write(f"{err.text}\n")
        return 2


def _study(args: argparse.Namespace) -> int:
    """Fire and judge the firings of a study; print its figures, and write and draw them where asked."""
    from daemon.clock import SystemClock
    from daemon.files import write_text
    from simulations.studies.study import Study, rows_of, run
    from simulations.studies.table_and_plot import document, plot

    wanted = [name for name in args.only.split(",") if name]
    rows = tuple(row for row in rows_of(args.plant) if not wanted or any(row.startswith(name) for name in wanted))
    if not rows:
        raise BadInput("--only", f"{args.only!r} is no row.", f"Known: {', '.join(rows_of(args.plant))}.")
    harsh = args.clean // 5 if args.harsh is None else args.harsh
    for option, number in (("--clean", args.clean), ("--harsh", harsh), ("--faulty", args.faulty)):
        _no_less(option, number, 0)
    if not args.clean + harsh + args.faulty:
        raise BadInput("--clean, --harsh, --faulty", "0 firings in all, so there is nothing to study.",
                       "Write a number above 0 for one of them, such as --clean 20.")
    _no_less("--seed", args.seed, 0)
    _check_jobs(args.jobs)
    scores = run(Study(args.clean, harsh, args.faulty, args.seed, rows, args.plant).names(), args.jobs)
    only = f" --only {args.only}" if wanted else ""
    only += f" --plant {args.plant}" if args.plant != "first" else ""
    what = f"python -m simulations study --clean {args.clean} --harsh {harsh} --faulty {args.faulty} " \
           f"--seed {args.seed}{only}"
    day = SystemClock().utc().date()
    text = "\n".join(document(scores, day, what)) + "\n"
    sys.stdout.write(text)
    if args.out is not None:
        args.out.mkdir(parents=True, exist_ok=True)
        write_text(str(args.out / f"study-{day.isoformat()}.md"), text, like="# Study of ")
        write_text(str(args.out / f"study-{day.isoformat()}.svg"), plot(scores), like="<svg")
        if args.sheets:
            _draw_sheets(scores, args.out, day.isoformat(), args.jobs)
    return 0


def _no_less(option: str, number: int, least: int) -> None:
    """Raise BadInput where the number given to ``option`` is below ``least``."""
    if number < least:
        raise BadInput(option, f"{number} is below {least}.", f"Write a whole number, {least} or more.")


def _check_jobs(jobs: int | None) -> None:
    """Raise BadInput where fewer processes than one are asked for."""
    if jobs is not None and jobs < 1:
        raise BadInput("--jobs", f"{jobs} processes can't work.", "Write 1 or more, or leave it out for all cores.")


def _draw_sheets(scores: Sequence[Score], folder: Path, day: str, jobs: int | None) -> None:
    """Draw every false wake and every miss, a contact sheet each."""
    from daemon.files import write_text
    from simulations.studies.contact_sheet import contact_sheet
    from simulations.studies.summary import missed, woken

    for word, found in (("false-wakes", woken(scores)), ("misses", missed(scores))):
        title = f"{word.replace('-', ' ').capitalize()} of the study of {day}: {len(found)}"
        write_text(str(folder / f"{word}-{day}.svg"), 
                   contact_sheet([s.name for s in found], title, jobs), like="<svg")


def _energy(args: argparse.Namespace) -> int:
    """Fire some kilns and print how often the energy they took lay within its estimate."""
    from simulations.studies.energy import FIRINGS, burn, report
    from simulations.studies.study import each

    _no_less("--kilns", args.kilns, 1)
    _no_less("--seed", args.seed, 0)
    _check_jobs(args.jobs)
    names = [f"{args.plant}-{seed}-{number}" for seed in range(args.seed, args.seed + args.kilns)
             for number in range(FIRINGS)]
    sys.stdout.write(f"{report(each(burn, names, args.jobs))}\n")
    return 0


def _case(args: argparse.Namespace) -> int:
    """Fire and judge one firing; print what was true, what was said and how it scores."""
    from daemon.commands.printed.report_text import lines
    from daemon.files import write_text
    from daemon.firing.durations import firing_clock
    from daemon.firing.plan.plan import write_plan
    from daemon.firing.report import judge
    from daemon.firing.trace.csv_trace import write_trace
    from daemon.subcommand import WAKE_RAISED
    from simulations.studies.scoring import score
    from simulations.studies.study import case_named
    from web.firings.handouts.html_report import picture

    case = case_named(args.name)
    fired = case.fire()
    found = judge(case.setup, case.entries(fired))
    say = sys.stdout.write
    say(f"{case.name}: {case.kiln.name}, {case.thickness_mm:g} mm, glass {case.glass}\n")
    say(f"goes wrong: {', '.join(case.faults) or 'nothing'}\n")
    say(f"goes on: {', '.join(case.habits) or 'nothing else'}\n")
    for happened in fired.truth.faults:
        until = "" if happened.until_s is None else f" to {happened.until_s:.0f} s"
        say(f"truly: {happened.name} from {happened.at_s:.0f} s{until}\n")
    say("truly run: " + ", ".join(f"{p.step} {p.part} {firing_clock(p.start_s)}" for p in fired.truth.parts) + "\n")
    say("\n" + "".join(line + "\n" for line in lines(found)) + "\n")
    result = score(case)
    for answer in result.answers:
        say(answered(answer) + "\n")
    if args.svg:
        write_text(args.svg, picture(found, fired.samples), like="<svg")
    if args.trace:
        write_text(args.trace, "".join(write_trace(fired.samples)), like="seconds,celsius")
    if args.plan:
        write_text(args.plan, write_plan(case.plan), like='title = "')
    return WAKE_RAISED if found.woke else 0


def answered(answer: Answer) -> str:
    """Return one line: what a watcher had to say of a firing, what it said, and when."""
    told = "nothing told" if answer.raised_min is None else (
        f"got {answer.named or 'another alert'}, told after {answer.raised_min:.1f} min")
    woke = "did not wake" if answer.woke_min is None else f"woke after {answer.woke_min:.1f} min"
    return f"asked: {' or '.join(answer.kinds)}, {answer.rank}; {told}, {woke}"


def _hunt(args: argparse.Namespace) -> int:
    """Hunt, or judge again what was kept; print what was found and how to run it again."""
    from daemon.clock import SystemClock
    from simulations.studies.hunt import Hunt, again, hunt_for, keep, report

    if args.again:
        sys.stdout.writelines(f"{line}\n" for line in again())
        return 0
    for option in ("draws", "minutes"):
        if not getattr(args, option) > 0:
            raise BadInput(f"--{option}", f"{getattr(args, option):g} is not above 0.", "Write a larger number.")
    for option in ("seed", "steps", "keep"):
        _no_less(f"--{option}", getattr(args, option), 0)
    clock = SystemClock()
    until_s = clock.now_s() + 60 * args.minutes
    found = hunt_for(args.aim, Hunt(args.draws, args.steps, args.seed), lambda: clock.now_s() >= until_s)
    sys.stdout.writelines(f"{line}\n" for line in report(found, args.aim, args.draws, args.steps, args.seed))
    for name in keep(found, args.aim, args.seed, args.keep) if args.keep else ():
        sys.stdout.write(f"Kept: python -m simulations case {name}\n")
    return 0


def _scenarios(args: argparse.Namespace) -> int:
    """Check the scenarios named, or all; print what is wrong with each."""
    from simulations.studies.scenario_check import check
    from simulations.studies.scenarios import SCENARIOS
    from simulations.studies.study import each

    names = args.names or list(SCENARIOS)
    for name in names:
        if name not in SCENARIOS:
            raise BadInput(name, "is no scenario.", f"Known: {', '.join(SCENARIOS)}.")
    if args.list:
        sys.stdout.writelines(f"{name:<28} {SCENARIOS[name].tells}\n" for name in names)
        return 0
    found = each(check, names)
    for name, mistakes in zip(names, found, strict=True):
        sys.stdout.write(f"{name:<28} {'; '.join(mistakes) or 'well'}\n")
    good = sum(not mistakes for mistakes in found)
    sys.stdout.write(f"{good} of {len(names)} well.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
