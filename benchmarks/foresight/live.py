"""What was forecast in the middle of a firing, and how well anybody could have known it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from random import Random
from statistics import mean, median
from typing import NamedTuple

from benchmarks.foresight.kilns import bench_kiln, still_room, usual_load
from daemon.firing.energy.tonight import Tonight
from daemon.firing.evidence import parts_seen
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.setup import Setup
from daemon.firing.status import Standing, standing
from daemon.firing.step import begin, step
from daemon.kiln.ahead import with_forecasts
from daemon.kiln.foresight import OPEN_C
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.past_firing import Ran
from simulations.firing import Simulated
from simulations.random_plans import Program
from simulations.truth import TruePart

HOURS_BEFORE = (14, 12, 10, 8, 6, 4, 2, 1)
_HOUR_S = 3600.0


class Told(NamedTuple):
    """What was forecast at one moment."""

    usual: Standing
    """As it is without the kiln's past."""
    learned: Standing


class LiveError(NamedTuple):
    """How far off a forecast in the middle of a firing was [s]; None where there was none."""

    what: str
    kiln: str
    off_s: float | None
    usual_off_s: float | None
    margin_s: float = 0.0


def watched(setup: Setup, fired: Simulated, model: KilnModel | None,
            moments: Mapping[str, float]) -> tuple[list[Ran], dict[str, Told]]:
    """Return the parts of a firing as the watch dated them, and what it forecast at each of the moments [s]."""
    state, told = begin(setup), dict[str, Told]()
    tonight = None if model is None else Tonight(model.thermal)
    waiting = sorted(moments.items(), key=lambda moment: -moment[1])
    for sample in fired.samples:
        state, _ = step(state, sample)
        if tonight is None or model is None:
            continue
        if sample.temp_c is not None:
            tonight.take(sample.t_s, sample.temp_c)
        while waiting and sample.t_s >= waiting[-1][1]:
            name, _ = waiting.pop()
            told[name] = Told(standing(state), with_forecasts(state, standing(state, model.slows), tonight, model))
    return [Ran(part.index, part.start_s, part.end_s) for part in parts_seen(state) if part.end_s is not None], told


def cold_s(trace: Sequence[tuple[float, float]]) -> float | None:
    """Return when a kiln was cool enough to open for good [s]; None where it was not yet."""
    last_s = next((t_s for t_s, temp_c in reversed(trace) if temp_c > OPEN_C), None)
    return last_s if trace[-1][1] <= OPEN_C + 0.5 else None


def moments_of(fired: Simulated, trace: Sequence[tuple[float, float]]) -> dict[str, float]:
    """Return when forecasts are looked at [s]: an hour after the first climb began, and hours before the opening."""
    found = {"anneal begins, told at 1 h": fired.truth.parts[0].start_s + _HOUR_S} if fired.truth.parts else {}
    cool_s = cold_s(trace)
    if cool_s is not None and not fired.truth.faults:
        falls_s = fired.truth.parts[-1].start_s if fired.truth.parts else 0.0
        for t_s, hours in ((cool_s - hours * _HOUR_S, hours) for hours in HOURS_BEFORE):
            found[f"may be opened, told {hours} h before, {'in' if t_s > falls_s else 'before'} the last fall"] = t_s
    return {what: t_s for what, t_s in found.items() if t_s > 0}


def live_errors(made: Program, setup: Setup, fired: Simulated, trace: Sequence[tuple[float, float]],
                told: Mapping[str, Told], kiln: str) -> Iterator[LiveError]:
    """Yield how far off what was told was."""
    planned, cool_s = planned_parts(made.plan), cold_s(trace)
    hold = anneal_hold(planned, setup.glass)
    for what, (usual, learned) in told.items():
        if what.startswith("anneal"):
            true = None if hold is None else _true(fired.truth.parts, hold.step)
            if true is not None and true.start_s > learned.t_s:
                yield _error(what, kiln, (learned.anneal_at_s, learned.anneal_margin_s), None, true.start_s)
        elif cool_s is not None:
            yield _error(what, kiln, (learned.open_at_s, learned.open_margin_s), usual.open_at_s, cool_s)


def _true(parts: Sequence[TruePart], number: int) -> TruePart | None:
    return next((part for part in parts if (part.step, part.part) == (number, "hold")), None)


def _error(what: str, kiln: str, told: tuple[float | None, float | None], usual_s: float | None,
           true_s: float) -> LiveError:
    return LiveError(what, kiln, None if told[0] is None else told[0] - true_s,
                     None if usual_s is None else usual_s - true_s, told[1] or 0.0)


def best_possible(seed: int, made: Program, chance: Random, true_s: float) -> Iterator[LiveError]:
    """Yield how far off the opening is to somebody who knows all of a kiln of the bench but one thing.

    The same firing is simulated again in a room that stays as it was at the beginning, and with the usual load.

    Parameters
    ----------
    seed
        The kiln.
    made
        What it fired.
    chance
        As it was before that.
    true_s
        When the kiln was cool enough [s].
    """
    for what, change in (("opening, all known but how the room goes on", still_room),
                         ("opening, all known but the load", usual_load)):
        again = Random()
        again.setstate(chance.getstate())
        fired = bench_kiln(seed, change)(made, again)
        cool_s = cold_s([(s.t_s, s.temp_c) for s in fired.samples if s.temp_c is not None])
        yield LiveError(what, f"bench-{seed}", None if cool_s is None else cool_s - true_s, None)


def live_table(found: Sequence[LiveError]) -> Iterator[str]:
    """Yield the table of live forecasts, in Markdown."""
    yield ("| forecast | n | none | off: median min | 80 % | without the past: median min | 80 % | in band | "
           "band ± min |")
    yield "|---|--:|--:|--:|--:|--:|--:|--:|--:|"
    for what in dict.fromkeys(error.what for error in found):
        errors = [error for error in found if error.what == what]
        off = sorted(abs(error.off_s) / 60 for error in errors if error.off_s is not None)
        usual = sorted(abs(error.usual_off_s) / 60 for error in errors if error.usual_off_s is not None)
        held = [abs(error.off_s) <= error.margin_s for error in errors if error.off_s is not None]
        margins = [error.margin_s / 60 for error in errors if error.margin_s]
        yield (f"| {what} | {len(errors)} | {len(errors) - len(off)} | {_spread(off)} | {_spread(usual)} | "
               f"{f'{100 * mean(held):.0f} %' if margins else ''} | {f'{median(margins):.0f}' if margins else ''} |")


def _spread(minutes: Sequence[float]) -> str:
    if not minutes:
        return " | "
    return f"{median(minutes):.1f} | {minutes[min(len(minutes) - 1, int(0.8 * len(minutes)))]:.0f}"
