"""What a kiln was foreseen to do beside what it did: ``python -m benchmarks.foresight``.

Each simulated kiln fires several plans at random. From the third firing on the kiln is learned from those before, as
the watch itself dated their parts, and the next plan is foreseen before its first reading. Kilns 0 to 39 of the bench
were looked at while the rules were made; 100 to 199 checked them; those of the second plant judge.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby
from multiprocessing import Pool
from random import Random
from statistics import mean, median
from typing import NamedTuple

from benchmarks.foresight.drawing import Drawn, forecasts
from benchmarks.foresight.kilns import bench_kiln, second_kiln
from benchmarks.foresight.live import LiveError, best_possible, cold_s, live_errors, live_table, moments_of, watched
from daemon.files import write_text
from daemon.firing.plan.schedule import PlannedPart, anneal_hold, planned_parts
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from daemon.kiln.foresight import Foresight, foresee
from daemon.kiln.learn import learn
from daemon.kiln.past_firing import PastFiring
from simulations.firing import Simulated
from simulations.random_plans import Program, random_program
from simulations.truth import TruePart

LEAST_PAST, FIRINGS = 3, 6
_DRAWN = 10


class Error(NamedTuple):
    """How far a moment was foreseen from where it was [s]."""

    what: str
    kiln: str
    off_s: float
    plan_off_s: float
    at_s: float
    margin_s: float
    """Half the width of the band that is told [s]."""

    @property
    def is_within(self) -> bool:
        """Return whether the moment lay within the band."""
        return abs(self.off_s) <= self.margin_s

    @property
    def is_by(self) -> bool:
        """Return whether it was no later than the end of the band: by then it is said to be in nine of ten."""
        return self.off_s >= -self.margin_s


class Result(NamedTuple):
    """What came of one kiln."""

    errors: list[Error]
    live: list[LiveError]
    took_s: list[float]
    """What learning took each time [s of processor]."""
    drawn: Drawn
    """The last forecast."""


class Asked(NamedTuple):
    """What is asked of one kiln."""

    plant: str
    seed: int
    has_limits: bool
    from_others: bool


def errors_of(asked: Asked) -> Result:
    """Return the errors of one kiln's forecasts."""
    plant, seed, has_limits, from_others = asked
    if from_others:
        return _errors_from_others(plant, seed)
    fires = (second_kiln if plant == "second" else bench_kiln)(seed)
    chance = Random(f"plans {plant} {seed}")
    past: list[PastFiring] = []
    found: list[Error] = []
    took: list[float] = []
    drawn = Drawn("", (), ())
    live: list[LiveError] = []
    for _ in range(FIRINGS):
        made = random_program(chance)
        before = chance.getstate()
        fired = fires(made, chance)
        planned, trace = planned_parts(made.plan), by_minute(fired)
        setup = Setup(made.plan, FAMILIES[made.glass], made.thickness_mm)
        model = None
        if len(past) >= LEAST_PAST:
            began_s = time.process_time()
            model = learn(past)
            took.append(time.process_time() - began_s)
            assert model is not None
            foreseen = foresee(planned, model, trace[0][1], room_c=PastFiring(planned, [], trace[:1]).room_c)
            tonight = list(_errors(planned, made, foreseen, fired, trace, f"{plant}-{seed}"))
            found += tonight
            off = ", ".join(f"{error.what} {error.off_s / 60:+.0f} min" for error in tonight)
            drawn = Drawn(f"{plant} kiln {seed}: {off}", trace, foreseen.curve)
        ran, told = watched(setup, fired, model, moments_of(fired, trace))
        live += live_errors(made, setup, fired, trace, told, f"{plant}-{seed}")
        cool_s = cold_s(trace)
        if has_limits and plant == "bench" and model is not None and cool_s is not None and _is_shut(fired):
            as_before = Random()
            as_before.setstate(before)
            live += best_possible(seed, made, as_before, cool_s)
        past.append(PastFiring(planned, ran, trace))
    return Result(found, live, took, drawn)


def _errors_from_others(plant: str, seed: int) -> Result:
    """Return the errors where each firing is foreseen from all others of its kiln, also from later ones."""
    fires = (second_kiln if plant == "second" else bench_kiln)(seed)
    chance, kiln = Random(f"plans {plant} {seed}"), f"{plant}-{seed}"
    nights, past = list[tuple[Program, Setup, Simulated]](), list[PastFiring]()
    for _ in range(FIRINGS):
        made = random_program(chance)
        fired = fires(made, chance)
        setup = Setup(made.plan, FAMILIES[made.glass], made.thickness_mm)
        past.append(PastFiring(planned_parts(made.plan), watched(setup, fired, None, {})[0], by_minute(fired)))
        nights.append((made, setup, fired))
    result = Result([], [], [], Drawn("", (), ()))
    for night, (made, setup, fired) in enumerate(nights):
        began_s, here = time.process_time(), past[night]
        model = learn([firing for firing in past if firing is not here])
        result.took_s.append(time.process_time() - began_s)
        assert model is not None
        foreseen = foresee(here.planned, model, here.trace[0][1], room_c=here.room_c)
        result.errors.extend(_errors(here.planned, made, foreseen, fired, here.trace, kiln))
        _, told = watched(setup, fired, model, moments_of(fired, here.trace))
        result.live.extend(live_errors(made, setup, fired, here.trace, told, kiln))
    return result


def by_minute(fired: Simulated) -> list[tuple[float, float]]:
    """Return a firing's readings as means of a minute, as the record gives them."""
    rows = groupby(((s.t_s, s.temp_c) for s in fired.samples if s.temp_c is not None), key=lambda row: row[0] // 60)
    return [(mean(t_s for t_s, _ in group), mean(temp_c for _, temp_c in group))
            for group in (list(pairs) for _, pairs in rows)]


def _errors(planned: Sequence[PlannedPart], made: Program, foreseen: Foresight, fired: Simulated,
            trace: Sequence[tuple[float, float]], kiln: str) -> Iterator[Error]:
    """Yield how far off the anneal's beginning, the end of the plan's rates and holds, and the opening were."""
    hold = anneal_hold(tuple(planned), FAMILIES[made.glass])
    last = planned[-1]
    for what, part in (("anneal begins", hold), ("last fall begins", last)):
        true = None if part is None else _true(fired.truth.parts, part)
        if part is None or true is None or not part.index:
            continue
        before = foreseen.parts[part.index - 1]
        by_plan_s = sum(earlier.duration_s for earlier in planned[:part.index])
        yield Error(what, kiln, before.end_s - true.start_s, by_plan_s - true.start_s, true.start_s,
                    before.end_margin_s)
    held = None if hold is None else _true(fired.truth.parts, hold)
    if hold is not None and held is not None and held.end_s is not None:
        part = foreseen.parts[hold.index]
        by_plan_s = sum(earlier.duration_s for earlier in planned[:hold.index + 1])
        yield Error("anneal hold over", kiln, part.end_s - held.end_s, by_plan_s - held.end_s, held.end_s,
                    part.end_margin_s)
    cool_s = cold_s(trace)
    if foreseen.opens_s is not None and cool_s is not None and _is_shut(fired):
        planned_s = sum(part.duration_s for part in planned)
        yield Error("may be opened", kiln, foreseen.opens_s - cool_s, planned_s - cool_s, cool_s,
                    foreseen.opens_margin_s)


def _true(parts: Sequence[TruePart], wanted: PlannedPart) -> TruePart | None:
    return next((part for part in parts if (part.step, part.part) == (wanted.step, wanted.part)), None)


def _is_shut(fired: Simulated) -> bool:
    """Return whether nobody opened anything in this firing."""
    return not fired.truth.faults


def quantile(values: Sequence[float], share: float) -> float:
    """Return the value that this share of the values is not above."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def table(found: Sequence[Error]) -> Iterator[str]:
    """Yield the table of errors and coverage, in Markdown."""
    yield ("| moment | n | off: median min | 90 % | median % | 95 % | by the plan: median min | 90 % | in band | "
           "by its end |")
    yield "|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|"
    by_what: dict[str, list[Error]] = defaultdict(list)
    for error in found:
        by_what[error.what].append(error)
    for what, errors in by_what.items():
        off, plan = ([abs(value) / 60 for value in values] for values in (
            [error.off_s for error in errors], [error.plan_off_s for error in errors]))
        shares = [100 * abs(error.off_s) / error.at_s for error in errors]
        yield (f"| {what} | {len(errors)} | {median(off):.1f} | {quantile(off, 0.9):.0f} | {median(shares):.1f} | "
               f"{quantile(shares, 0.95):.1f} | {median(plan):.1f} | {quantile(plan, 0.9):.0f} | "
               f"{100 * mean(error.is_within for error in errors):.0f} % | "
               f"{100 * mean(error.is_by for error in errors):.0f} % |")


def main(arguments: list[str] | None = None) -> int:
    """Print the table of errors and coverage."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.foresight", description=__doc__)
    parser.add_argument("--plant", choices=("bench", "second"), default="bench", help="which kilns (bench)")
    parser.add_argument("--kilns", type=int, default=30, metavar="N", help="how many (30)")
    parser.add_argument("--first", type=int, default=100, metavar="S", help="the first one's seed (100)")
    parser.add_argument("--draw", metavar="FILE.svg", help="draw the last forecast of the first ten kilns")
    parser.add_argument("--jobs", type=int, default=2, metavar="J", help="processes (2)")
    parser.add_argument("--limits", action="store_true",
                        help="also simulate what somebody would foresee who knows all but the room, or the load")
    parser.add_argument("--others", action="store_true",
                        help="foresee each firing from all others of its kiln, not only from those before")
    args = parser.parse_args(arguments)
    asked = [Asked(args.plant, args.first + n, args.limits, args.others) for n in range(args.kilns)]
    with Pool(args.jobs) as pool:
        results = pool.map(errors_of, asked, chunksize=1)
    found = [error for result in results for error in result.errors]
    took = [each_s for result in results for each_s in result.took_s]
    if args.draw:
        write_text(args.draw, forecasts([result.drawn for result in results[:_DRAWN]],
                                        "What was read, and what had been foreseen (broken line)"), like="<svg")
    sys.stdout.writelines(line + "\n" for line in table(found))
    sys.stdout.write("\n")
    sys.stdout.writelines(line + "\n" for line in live_table([error for result in results for error in result.live]))
    worst = sorted((error for error in found if error.what == "anneal begins"), key=lambda e: -abs(e.off_s))[:5]
    sys.stdout.write("\nFarthest off: " + ", ".join(f"{e.kiln} {e.off_s / 60:+.0f} min" for e in worst) + "\n")
    sys.stdout.write(f"Learning took {median(took):.2f} s of processor time, {max(took):.2f} s at most.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
