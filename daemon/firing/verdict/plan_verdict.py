"""The firing held against its plan: what of it was reached, held and kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf
from typing import NamedTuple

from daemon.firing.events import Part
from daemon.firing.plan.near_target import NEAR_UNKNOWN_K
from daemon.firing.plan.schedule import PlannedPart, passing_s
from daemon.firing.situation.probe_doubt import Disbelief
from daemon.firing.trace.gaps import Gap
from daemon.firing.verdict.answer import (
    AnnealHoldAnswer,
    Answer,
    CoolingAnswer,
    HoldsAnswer,
    Result,
    TopAnswer,
    Unseen,
)
from daemon.firing.verdict.answer_values import CoolingRates, MeasuredHold, PlannedHold, Temperature
from daemon.glass.common_practice import AS_GOOD_TIMES

NEAR_K = 6.0
"""Within this of its target a hold did its work; beyond it is worth a note [K]. [common practice]"""
_SHORT_S, _SHORT_SHARE = 120.0, 0.05
"""A hold counts as whole unless more than so many seconds are missing, and more than this share of it.
[common practice]"""
_LEFT_S, _LEFT_SHARE = 180.0, 0.1
"""So much may be missing of another hold than the anneal: the larger of seconds and a share. [chosen: three minutes,
as closely as a boundary is known]"""
_OVER_S, _OVER_SHARE = 420.0, 0.25
"""So much longer than planned it may be: the larger of seconds and a share. [chosen: a controller that waits for the
last kelvins makes a hold a few minutes longer, and its end is known to some minutes]"""
_SURELY_S = 300.0
"""A part that lasted this long was truly run [s]. [from: daemon.firing.situation.last_climb._SURELY_S]"""
_NEVER_THERE_K = 40.0
"""A kiln whose highest reading is this far below a hold was not in it; nearer, a probe may read so much low [K].
[from: daemon.firing.situation.view.NEVER_NEAR_K]"""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of a firing by readings that can be believed.

    Attributes
    ----------
    parts
        The parts that were run, all ended.
    peak_c
        Highest one-minute median [°C].
    offset_k
        Probe minus plan as the holds showed it [K]; holds are judged after it, the top never; None where unknown.
    holes
        The stretches without a temperature that can be believed.
    lost
        From where on there was none up to the end; None where the end was seen.
    near_s
        How long the kiln stood near each planned hold, by the index of its part [s]; of one that is missing only the
        parts tell.
    stood
        From when to when the readings stood a step down, as under an open lid [s]: no hold was held meanwhile.
    """

    parts: tuple[Part, ...]
    peak_c: float | None
    offset_k: float | None
    holes: Sequence[Gap] = ()
    lost: Disbelief | None = None
    near_s: Mapping[int, float] = field(default_factory=dict)
    stood: Sequence[tuple[float, float]] = ()

    def is_past(self, index: int) -> bool:
        """Return whether the kiln was seen beyond the planned part ``index``."""
        return any(part.index > index for part in self.parts)

    def stood_s(self, part: Part) -> float:
        """Return for how much of a part the readings stood a step down [s]."""
        return sum(max(0.0, min(to_s, part.end_s or to_s) - max(from_s, part.start_s)) for from_s, to_s in self.stood)

    def blind_s(self, part: Part) -> float:
        """Return how much of a part was without a temperature that can be believed [s]."""
        return sum(hole.within(part.start_s, part.end_s or part.start_s) for hole in self.holes)


def verdict(planned: tuple[PlannedPart, ...], anneal: PlannedPart | None, seen: Evidence) -> tuple[Answer, ...]:
    """Return the answers about the plan for one firing; empty without a plan.

    Parameters
    ----------
    planned
        The plan's parts.
    anneal
        The plan's anneal hold, where it has one.
    seen
        What was run.
    """
    if not planned:
        return ()
    answers: list[Answer] = [_top(planned, anneal, seen)]
    holds = [part for part in planned if part.part == "hold" and not part.is_made_up
             and (anneal is None or part.index != anneal.index)]
    if holds:
        answers.append(_holds(holds, planned, seen))
    if anneal is not None:
        answers.append(anneal_answer(anneal, seen))
        answers.append(_cooling(planned, anneal, seen))
    return tuple(answers)


def _top(planned: tuple[PlannedPart, ...], anneal: PlannedPart | None, seen: Evidence) -> TopAnswer:
    """Return whether the highest reading came to the plan's highest target, no further, and once."""
    asked_c = max(part.to_c for part in planned)
    asked, peak_c = Temperature(asked_c), seen.peak_c
    if peak_c is None:
        return TopAnswer(Result.NOT_KNOWN, None, asked)
    last = max(part.index for part in planned if part.to_c == asked_c)
    if seen.lost is not None and not seen.is_past(last) and peak_c <= asked_c + NEAR_K:
        return TopAnswer(Result.NOT_KNOWN, Temperature(peak_c), asked, lost=seen.lost)
    near = abs(peak_c - asked_c) <= NEAR_K
    again = None if anneal is None else heated_again(anneal, seen)
    if again is not None and again.before_c < asked_c + (seen.offset_k or 0.0) - _NEVER_THERE_K:
        again = None  # its top was still to come: no anneal was lost by it
    is_twice = again is None and _went_twice(planned[last], seen)
    again_c = None if again is None else (
        peak_c if peak_c > again.before_c + NEAR_K else again.highest_c)  # the peak came after the anneal
    return TopAnswer(Result.YES if near and again is None and not is_twice else Result.NO, Temperature(peak_c), asked,
                     again=None if again_c is None else Temperature(again_c), is_twice=is_twice)


def _went_twice(top: PlannedPart, seen: Evidence) -> bool:
    """Return whether the kiln was at its top, ran a step before that again, and went to the top once more.

    A top that broke off and was taken up again in its own step is one.
    """
    at_top = [number for number, run in enumerate(seen.parts) if run.index == top.index]
    return top.part == "hold" and any(
        run.step < top.step and _lasted_s(run) >= _SURELY_S for run in seen.parts[at_top[0]:at_top[-1]]
    ) if at_top else False


class HeatedAgain(NamedTuple):
    """A kiln that was heated far above its anneal once more, after it had been there."""

    highest_c: float
    """How hot it became, as its parts show it [°C]."""
    rest: tuple[Part, ...]
    """The parts after it was as hot: the anneal and the cooling that count."""
    before_c: float
    """How hot it had been before that anneal, as its parts show it [°C]; −∞ where nothing shows it."""


def heated_again(anneal: PlannedPart, seen: Evidence) -> HeatedAgain | None:
    """Return how the kiln was heated far above its anneal after it had been in it, or below; None where it was not.

    What is that hot begins anew: an anneal before it leaves nothing in the glass.
    """
    annealed = next((number for number, run in enumerate(seen.parts)
                     if run.index >= anneal.index and _lasted_s(run) >= _SURELY_S), None)
    if annealed is None:
        return None
    limit_c = anneal.to_c + (seen.offset_k or 0.0) + _NEVER_THERE_K
    hot = [number for number, run in enumerate(seen.parts)
           if number > annealed and run.index < anneal.index and _hottest_c(run) > limit_c]
    if not hot:
        return None
    return HeatedAgain(max(_hottest_c(seen.parts[number]) for number in hot), seen.parts[hot[-1] + 1:],
                       max((_hottest_c(run) for run in seen.parts[:annealed]), default=-inf))


def _lasted_s(run: Part) -> float:
    """Return how long a part was run [s]."""
    return (run.start_s if run.end_s is None else run.end_s) - run.start_s


def _hottest_c(run: Part) -> float:
    """Return the mean of a hold, or the hotter end of a ramp that is straight about its mean [°C]."""
    if run.mean_c is None:
        return -inf
    return run.mean_c + abs(run.rate_c_per_h or 0.0) * _lasted_s(run) / 7200 * (run.part == "ramp")


def _holds(holds: Sequence[PlannedPart], planned: tuple[PlannedPart, ...], seen: Evidence) -> HoldsAnswer:
    """Return whether each of ``holds``, which are parts of ``planned``, was as long as planned.

    A hold that strayed is a no, whatever was not seen of another. The plan's last part may be held as long as one
    likes. A hold that the kiln has not come to, with nothing lost, was not held.
    """
    measured = tuple(_longest(hold, _measured(hold, seen), seen, passing_s(planned, hold, NEAR_UNKNOWN_K))
                     for hold in holds)
    results = [_hold_result(hold, held, seen, is_last=hold.index == len(planned) - 1)
               for hold, held in zip(holds, measured, strict=True)]
    result = next((one for one in (Result.NO, Result.NOT_KNOWN) if one in results), Result.YES)
    return HoldsAnswer(result, measured, tuple(PlannedHold(hold.to_c, hold.duration_s) for hold in holds),
                       lost=seen.lost if result is Result.NOT_KNOWN else None)


def strayed_s(asked: PlannedHold, held: MeasuredHold | None, *, is_last: bool = False) -> float:
    """Return by how much a hold was longer (+) or shorter (−) than planned, beyond tolerance [s]; 0 within it."""
    off_s = (0.0 if held is None else held.held_s) - asked.duration_s
    if off_s < -max(_LEFT_S, _LEFT_SHARE * asked.duration_s):
        return off_s
    return off_s if not is_last and off_s > max(_OVER_S, _OVER_SHARE * asked.duration_s) else 0.0


def _hold_result(hold: PlannedPart, held: MeasuredHold | None, seen: Evidence, *, is_last: bool) -> Result:
    """Return whether one hold was as long as planned."""
    off_s = strayed_s(PlannedHold(hold.to_c, hold.duration_s), held, is_last=is_last)
    if seen.lost is not None and not seen.is_past(hold.index):
        return Result.NO if off_s > 0.0 else Result.NOT_KNOWN
    if off_s == 0.0:
        return Result.YES
    if held is None and _ran_past(hold, seen):
        return Result.NO
    if held is None:
        came_near = seen.peak_c is None or seen.peak_c > hold.to_c - _NEVER_THERE_K
        return Result.NOT_KNOWN if came_near else Result.NO
    hidden = held.unseen_s > 0.0
    return Result.NOT_KNOWN if hidden else Result.NO


def _longest(hold: PlannedPart, held: MeasuredHold | None, seen: Evidence, passing_s: float) -> MeasuredHold | None:
    """Return a hold as run, for as long as the kiln stood near it where that is longer, up to what was planned.

    The last ``passing_s`` of the ramp to it do not count, nor does what a kiln is near it that climbs on past it.
    """
    if held is None and _ran_past(hold, seen):
        return None
    near_s = min(seen.near_s.get(hold.index, 0.0) - passing_s, hold.duration_s)
    if near_s <= (0.0 if held is None else held.held_s):
        return held
    return MeasuredHold(near_s, None, seen.offset_k or 0.0, 0.0) if held is None else replace(held, held_s=near_s)


def _ran_past(hold: PlannedPart, seen: Evidence) -> bool:
    """Return whether the kiln got so much hotter than a hold that it cannot have ended with it, nor gone on later."""
    past_c = hold.to_c + (seen.offset_k or 0.0) + _NEVER_THERE_K
    return seen.peak_c is not None and seen.peak_c > past_c and not seen.is_past(hold.index)


def _measured(hold: PlannedPart, seen: Evidence) -> MeasuredHold | None:
    """Return a planned hold as it was run, all its stretches together; None where none was seen."""
    runs = [part for part in seen.parts if part.index == hold.index and part.end_s is not None]
    if not runs:
        return None
    stood_s = sum(seen.stood_s(part) for part in runs)
    means = [part.mean_c for part in runs if part.mean_c is not None]
    return MeasuredHold(sum((part.end_s or part.start_s) - part.start_s for part in runs) - stood_s,
                        sum(means) / len(means) if means else None, seen.offset_k or 0.0,
                        sum(seen.blind_s(part) for part in runs))


def anneal_answer(anneal: PlannedPart, seen: Evidence) -> AnnealHoldAnswer:
    """Return whether the anneal hold was whole; what was not seen is neither yes nor no."""
    again = heated_again(anneal, seen)
    found = _seen_anneal(anneal, seen if again is None else replace(seen, parts=again.rest))
    if again is not None and found.measured is None:
        found = replace(found, undone=_measured(anneal, seen))
    if seen.lost is None or seen.is_past(anneal.index) or found.result is Result.YES:
        return found
    return replace(found, result=Result.NOT_KNOWN, lost=seen.lost)


def _seen_anneal(anneal: PlannedPart, seen: Evidence) -> AnnealHoldAnswer:
    """Return whether the anneal hold was whole, by the parts that were seen."""
    asked, measured = PlannedHold(anneal.to_c, anneal.duration_s), _measured(anneal, seen)
    blind_s = 0.0 if measured is None else measured.unseen_s
    runs = [part for part in seen.parts if part.index == anneal.index and part.end_s is not None]
    hidden_s = blind_s + sum(
        hole.to_s - hole.from_s for hole in seen.holes if hole.hides(anneal.to_c + (seen.offset_k or 0.0))
        and not any(hole.within(part.start_s, part.end_s or part.start_s) for part in runs))
    if measured is None:
        if hidden_s:
            return AnnealHoldAnswer(Result.NOT_KNOWN, None, asked, unseen=Unseen(hidden_s))
        return AnnealHoldAnswer(Result.NO, None, asked)
    short_s = anneal.duration_s - measured.held_s
    off_k = 0.0 if measured.mean_c is None else measured.mean_c - measured.offset_k - anneal.to_c
    least_s = max(_SHORT_S, _SHORT_SHARE * anneal.duration_s)
    seen_short_s = short_s + blind_s
    if hidden_s and seen_short_s > least_s and seen_short_s - hidden_s <= 2.0 * least_s:
        return AnnealHoldAnswer(Result.NOT_KNOWN, measured, asked, unseen=Unseen(hidden_s))
    if short_s > least_s:
        return AnnealHoldAnswer(Result.NO, measured, asked)
    return AnnealHoldAnswer(Result.PARTLY if abs(off_k) > NEAR_K else Result.YES, measured, asked)


def _cooling(planned: tuple[PlannedPart, ...], anneal: PlannedPart, seen: Evidence) -> CoolingAnswer:
    """Return whether each cooling step after the anneal hold, on its mean, fell no faster than planned."""
    run: list[tuple[float, float]] = []
    again = heated_again(anneal, seen)
    for part in seen.parts if again is None else again.rest:
        rate = planned[part.index].rate_c_per_h
        if part.index <= anneal.index or part.part != "ramp" or rate is None or part.rate_c_per_h is None:
            continue
        run.append((-part.rate_c_per_h, -rate))
    steps = [part.index for part in planned if part.index > anneal.index and part.rate_c_per_h]
    lost = seen.lost if steps and not seen.is_past(steps[-1]) else None
    if not run:
        return CoolingAnswer(Result.NOT_KNOWN, None, None, lost=lost)
    fastest = max((was for was, asked in run if was > AS_GOOD_TIMES * asked), default=None)
    measured = CoolingRates(tuple(was for was, _ in run), fastest)
    asked = CoolingRates(tuple(asked for _, asked in run))
    if fastest is None and lost is not None:
        return CoolingAnswer(Result.NOT_KNOWN, measured, asked, lost=lost)
    return CoolingAnswer(Result.YES if fastest is None else Result.NO, measured, asked)
