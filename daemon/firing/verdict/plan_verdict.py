"""The firing held against its plan: was the top reached, the anneal hold whole, the cooling slow enough."""

from __future__ import annotations

from collections.abc import Sequence

from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.gaps import Gap
from daemon.firing.verdict.answer import AnnealHoldAnswer, Answer, CoolingAnswer, Result, TopAnswer, Unseen
from daemon.firing.verdict.answer_values import CoolingRates, MeasuredHold, PlannedHold, Temperature
from daemon.glass.common_practice import AS_GOOD_TIMES

NEAR_K = 6.0
"""Within this of its target a hold did its work; beyond it is worth a note [K]. [common practice]"""
_SHORT_S, _SHORT_SHARE = 120.0, 0.05
"""A hold counts as whole unless more than so many seconds are missing, and more than this share of it.
[common practice]"""


def verdict(planned: tuple[PlannedPart, ...], found: tuple[Part, ...], anneal: PlannedPart | None,
            peak_c: float | None, offset_k: float | None, holes: Sequence[Gap] = ()) -> tuple[Answer, ...]:
    """Return the answers about the plan for one firing; empty without a plan.

    Parameters
    ----------
    planned, found
        The plan's parts, and those that were run, all ended.
    anneal
        The plan's anneal hold, where it has one.
    peak_c
        Highest one-minute median [°C].
    offset_k
        Probe minus plan as the holds showed it [K]; holds are judged after it, the top never.
    holes
        The stretches without a temperature.
    """
    if not planned:
        return ()
    answers: list[Answer] = [_top(planned, peak_c)]
    if anneal is not None:
        answers.append(anneal_answer(anneal, found, offset_k, holes))
        answers.append(_cooling(planned, found, anneal))
    return tuple(answers)


def _top(planned: tuple[PlannedPart, ...], peak_c: float | None) -> TopAnswer:
    """Return whether the highest reading came to the plan's highest target, and no further."""
    asked = Temperature(max(part.to_c for part in planned))
    if peak_c is None:
        return TopAnswer(Result.NOT_KNOWN, None, asked)
    near = abs(peak_c - asked.temp_c) <= NEAR_K
    return TopAnswer(Result.YES if near else Result.NO, Temperature(peak_c), asked)


def anneal_answer(anneal: PlannedPart, found: tuple[Part, ...], offset_k: float | None,
                  holes: Sequence[Gap]) -> AnnealHoldAnswer:
    """Return whether the anneal hold was whole; what was not seen is neither yes nor no.

    Parameters
    ----------
    anneal
        The hold as planned.
    found
        The parts that were run, all ended.
    offset_k
        Probe minus plan as the holds showed it [K]; None where it was not learned.
    holes
        The stretches without a temperature.
    """
    asked = PlannedHold(anneal.to_c, anneal.duration_s)
    holds = [part for part in found if part.index == anneal.index and part.end_s is not None]
    blind_s = sum(hole.within(part.start_s, part.end_s or part.start_s) for part in holds for hole in holes)
    hidden_s = blind_s + sum(
        hole.to_s - hole.from_s for hole in holes if hole.hides(anneal.to_c + (offset_k or 0.0))
        and not any(hole.within(part.start_s, part.end_s or part.start_s) for part in holds))
    if not holds:
        if hidden_s:
            return AnnealHoldAnswer(Result.NOT_KNOWN, None, asked, unseen=Unseen(hidden_s))
        return AnnealHoldAnswer(Result.NO, None, asked)
    held_s = sum((part.end_s or part.start_s) - part.start_s for part in holds)
    means = [part.mean_c for part in holds if part.mean_c is not None]
    mean_c = sum(means) / len(means) if means else None
    measured = MeasuredHold(held_s, mean_c, offset_k or 0.0, blind_s)
    short_s = anneal.duration_s - held_s
    off_k = 0.0 if mean_c is None else mean_c - measured.offset_k - anneal.to_c
    least_s = max(_SHORT_S, _SHORT_SHARE * anneal.duration_s)
    seen_short_s = short_s + blind_s
    if hidden_s and seen_short_s > least_s and seen_short_s - hidden_s <= 2.0 * least_s:
        return AnnealHoldAnswer(Result.NOT_KNOWN, measured, asked, unseen=Unseen(hidden_s))
    if short_s > least_s:
        return AnnealHoldAnswer(Result.NO, measured, asked)
    return AnnealHoldAnswer(Result.PARTLY if abs(off_k) > NEAR_K else Result.YES, measured, asked)


def _cooling(planned: tuple[PlannedPart, ...], found: tuple[Part, ...], anneal: PlannedPart) -> CoolingAnswer:
    """Return whether each cooling step after the anneal hold, on its mean, fell no faster than planned."""
    run: list[tuple[float, float]] = []
    for part in found:
        rate = planned[part.index].rate_c_per_h
        if part.index <= anneal.index or part.part != "ramp" or rate is None or part.rate_c_per_h is None:
            continue
        run.append((-part.rate_c_per_h, -rate))
    if not run:
        return CoolingAnswer(Result.NOT_KNOWN, None, None)
    fastest = max((was for was, asked in run if was > AS_GOOD_TIMES * asked), default=None)
    return CoolingAnswer(
        Result.YES if fastest is None else Result.NO, CoolingRates(tuple(was for was, _ in run), fastest),
        CoolingRates(tuple(asked for _, asked in run)))
