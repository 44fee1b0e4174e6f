"""What a maker asks in the morning, a line each, from the parts as they were run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.gaps import Gap
from daemon.firing.units import Units
from daemon.glass.practice import AS_GOOD_TIMES

NEAR_K = 6.0
"""Within this of its target a hold did its work; beyond it is worth a note. Common practice."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One question with its answer and the figures behind it; None where there is none."""

    question: str
    answer: str
    measured: str | None
    asked: str | None


def verdict(planned: tuple[PlannedPart, ...], found: tuple[Part, ...], anneal: PlannedPart | None,
            peak_c: float | None, offset_c: float | None, wording: Units,
            holes: Sequence[Gap] = ()) -> tuple[Answer, ...]:
    """Return the answers for one firing; empty without a plan.

    Parameters
    ----------
    planned, found
        The plan's parts, and those that were run, all ended.
    anneal
        The plan's anneal hold, where it has one.
    peak_c
        Highest one-minute median [°C].
    offset_c
        Probe minus plan as the holds showed it [K]; holds are judged after it, the top never.
    wording
        Puts figures into the owner's unit.
    holes
        The stretches without a temperature.
    """
    if not planned:
        return ()
    answers = [_top(planned, peak_c, wording)]
    if anneal is not None:
        answers.append(anneal_answer(anneal, found, offset_c, wording, holes))
        answers.append(_cooling(planned, found, anneal, wording))
    return tuple(answers)


def _top(planned: tuple[PlannedPart, ...], peak_c: float | None, wording: Units) -> Answer:
    highest_c = max(part.to_c for part in planned)
    asked = wording.temp(highest_c)
    question = "Did it reach its top, and no more?"
    if peak_c is None:
        return Answer(question, "Nothing was read.", None, asked)
    off = peak_c - highest_c
    if abs(off) <= NEAR_K:
        answer = "Yes, by this probe."
    else:
        answer = f"{wording.difference(abs(off))} {'above' if off > 0 else 'below'}, by this probe."
    return Answer(question, answer, wording.temp(peak_c), asked)


def anneal_answer(anneal: PlannedPart, found: tuple[Part, ...], offset_c: float | None, wording: Units,
                  holes: Sequence[Gap]) -> Answer:
    """Return whether the anneal hold was whole; what was not seen is neither yes nor no."""
    question = "Did it get its whole anneal hold?"
    asked = f"{wording.temp(anneal.to_c)}, {anneal.duration_s / 60:.0f} min"
    holds = [part for part in found if part.index == anneal.index and part.end_s is not None]
    blind_s = sum(hole.within(part.start_s, part.end_s or part.start_s) for part in holds for hole in holes)
    hidden_s = blind_s + sum(
        hole.to_s - hole.from_s for hole in holes if hole.hides(anneal.to_c + (offset_c or 0.0))
        and not any(hole.within(part.start_s, part.end_s or part.start_s) for part in holds))
    if not holds and hidden_s:
        return Answer(question, f"Not known: {hidden_s / 60:.0f} min were not seen.", None, asked)
    if not holds:
        return Answer(question, "No, none was seen.", None, asked)
    held_s = sum((part.end_s or part.start_s) - part.start_s for part in holds)
    means = [part.mean_c for part in holds if part.mean_c is not None]
    mean_c = sum(means) / len(means) if means else None
    measured = f"{held_s / 60:.0f} min" + (f" at {wording.temp(mean_c)}" if mean_c is not None else "")
    short_s = anneal.duration_s - held_s
    off = 0.0 if mean_c is None else mean_c - (offset_c or 0.0) - anneal.to_c
    least_s = max(120.0, 0.05 * anneal.duration_s)
    seen_short_s = short_s + blind_s
    if hidden_s and seen_short_s > least_s and seen_short_s - hidden_s <= 2.0 * least_s:
        measured += f", {blind_s / 60:.0f} of them not seen" if blind_s else ""
        answer = f"Not known: {hidden_s / 60:.0f} min were not seen."
    elif short_s > least_s:
        answer = f"No, {short_s / 60:.0f} min are missing."
    elif abs(off) > NEAR_K:
        answer = f"In time, but {wording.difference(abs(off))} {'above' if off > 0 else 'below'} plan."
    else:
        answer = "Yes."
    return Answer(question, answer, measured, asked)


def _cooling(planned: tuple[PlannedPart, ...], found: tuple[Part, ...], anneal: PlannedPart,
             wording: Units) -> Answer:
    question = "Did it cool as slowly as planned from there?"
    fast: list[tuple[float, float]] = []
    seen: list[tuple[float, float]] = []
    for part in found:
        rate = planned[part.index].rate_c_per_h
        if part.index <= anneal.index or part.part != "ramp" or rate is None or part.rate_c_per_h is None:
            continue
        seen.append((-part.rate_c_per_h, -rate))
        if -part.rate_c_per_h > AS_GOOD_TIMES * -rate:
            fast.append((-part.rate_c_per_h, -rate))
    if not seen:
        return Answer(question, "The cooling steps were not seen.", None, None)
    measured = ", ".join(wording.rate(rate) for rate, _ in seen)
    asked = ", ".join(wording.rate(rate) for _, rate in seen)
    answer = "Yes, on the mean of each step." if not fast else f"No, up to {wording.rate(max(fast)[0])}."
    return Answer(question, answer, measured, asked)
