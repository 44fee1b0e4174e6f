"""The words of a verdict: the only place where an answer becomes sentences. Nothing reads truth back from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from daemon.firing.durations import duration, whole_minutes
from daemon.firing.situation.probe_doubt import Cause, Disbelief
from daemon.firing.units import Units, percent
from daemon.firing.verdict.answer import (
    AlarmsAnswer,
    AnnealHoldAnswer,
    Answer,
    ClimbAnswer,
    CoolingAnswer,
    CoolingBelowRangeAnswer,
    HoldsAnswer,
    Question,
    RelaxedAnswer,
    Result,
    StressAnswer,
    TopAnswer,
)
from daemon.firing.verdict.answer_values import CoolingRates, MeasuredHold, PlannedHold
from daemon.firing.verdict.plan_verdict import NEAR_K, strayed_s
from daemon.glass.common_practice import AS_GOOD_TIMES

_NO = "No, "
_NEARLY_ALL = 0.95
"""A larger share is told as all. [chosen: a figure would claim more than is known]"""
_LEAST_MPA, _WHOLE_FROM_MPA = 0.1, 3.0
"""Less stress than the first is told as less than that; from the second on it is told in whole figures [MPa].
[derived: one figure, as SURE allows]"""
_FRACTIONS = {0.05: "a twentieth", 0.2: "a fifth"}
"""The shares that a verdict names; any other is said in per cent."""


@dataclass(frozen=True, slots=True)
class AnswerInWords:
    """One answer as it is shown, printed and stored.

    Attributes
    ----------
    kind
        Which question; None where a stored answer has one that this program does not know.
    result
        The answer, by which it is coloured and sorted.
    question, answer
        Both as sentences.
    measured, asked
        The figures behind it; None where there is none.
    thickness_mm
        Which thickness it is about, where a load has several [mm].
    """

    kind: Question | None
    result: Result
    question: str
    answer: str
    measured: str | None
    asked: str | None
    thickness_mm: float | None = None

    @property
    def clause(self) -> str:
        """Return the answer for the middle of a sentence: ``12 min are missing`` for ``No, 12 min are missing.``."""
        said = self.answer.removeprefix(_NO).rstrip(".")
        return f"{said[:1].lower()}{said[1:]}"

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values; ``thickness_mm`` only where it tells two answers apart."""
        row = {"question": self.question, "answer": self.answer, "measured": self.measured, "asked": self.asked,
               "kind": self.kind, "result": self.result}
        return row if self.thickness_mm is None else {**row, "thickness_mm": self.thickness_mm}


def in_words(answer: Answer, units: Units) -> AnswerInWords:
    """Return an answer in sentences, its figures in the owner's unit."""
    unseen = answer.unseen
    straight = unseen.if_straight if unseen is not None else None
    question, said, measured, asked = _sentences(answer, straight or answer.result, units)
    if answer.lost is not None and answer.result is Result.NOT_KNOWN:
        said, measured = _lost(answer.lost, units), measured if answer.kind.is_of_plan else None
    elif unseen is not None and straight is not None:
        said = (f"Not known: {whole_minutes(unseen.length_s)} of the annealing range were not seen. "
                f"Drawn straight across them it would be: {said}")
    elif unseen is not None and answer.kind is not Question.ANNEAL_HOLD:
        minutes = f"{whole_minutes(unseen.length_s)}{_UNSEEN_OF.get(answer.kind, '')}"
        said = f"{said} But {minutes} were not seen; it is reckoned straight across them."
    thickness_mm = answer.thickness_mm if isinstance(answer, StressAnswer) else None
    return AnswerInWords(answer.kind, answer.result, question, said, measured, asked, thickness_mm)


_UNSEEN_OF = {
    Question.CLIMB: " of the climb", Question.RELAXED: " of the annealing range",
    Question.STRESS: " of the annealing range", Question.COOLING_BELOW_RANGE: " of the cooling",
}
"""Of which part the unseen minutes are; a question that is not here is about the part that it names itself."""
_LOST = {
    Cause.FROZEN: "the reading stood still at {}", Cause.COLDER_THAN_ROOM: "the reading was colder than any room",
    Cause.FELL: "the reading fell from {} as no kiln cools", Cause.BLIND: "there was no reading",
}
"""Why nothing is known from a moment on; ``{}`` stands for the last temperature that is."""


def lost_words(lost: Disbelief, units: Units) -> str:
    """Return why the readings cannot be believed, as a clause."""
    return _LOST[lost.cause].format(units.temp(lost.from_c))


def _lost(lost: Disbelief, units: Units) -> str:
    """Return that an answer is not known since the readings cannot be believed, with the moment."""
    return f"Not known: from {duration(lost.since_s)} after the start on {lost_words(lost, units)}."


def _sentences(answer: Answer, result: Result, units: Units) -> tuple[str, str, str | None, str | None]:
    """Return question, answer, measured and asked, as if the answer were ``result`` and nothing were unseen."""
    match answer:
        case TopAnswer():
            return _top(answer, result, units)
        case HoldsAnswer():
            return _holds(answer, result, units)
        case AnnealHoldAnswer():
            return _anneal_hold(answer, result, units)
        case CoolingAnswer():
            return _cooling(answer, result, units)
        case ClimbAnswer():
            return _climb(answer, result, units)
        case RelaxedAnswer():
            return _relaxed(answer, result, units)
        case StressAnswer():
            return _stress(answer, result)
        case CoolingBelowRangeAnswer():
            return _below_range(answer, result, units)
        case AlarmsAnswer():
            return _alarms(answer, result)
    raise TypeError(f"there are no words for {type(answer).__name__}")


def _top(answer: TopAnswer, result: Result, units: Units) -> tuple[str, str, str | None, str]:
    """Return the four sentences about the top."""
    asked_c = answer.asked.temp_c
    if answer.measured is None:
        said, measured = "Nothing was read.", None
    else:
        peak_c, measured = answer.measured.temp_c, units.temp(answer.measured.temp_c)
        side = "above" if peak_c > asked_c else "below"
        off = "" if abs(peak_c - asked_c) <= NEAR_K else f"{units.between(peak_c, asked_c)} {side}"
        again = "" if answer.again is None else f"heated again after its anneal, to {units.temp(answer.again.temp_c)}"
        again = again or ("it went there twice" if answer.is_twice else "")
        said = " and ".join(filter(None, (off, again))) or "yes"
        said = f"{_NO}{said}." if again and not off else f"{said[:1].upper()}{said[1:]}."
    return "Did it reach its top, and no more?", said, measured, units.temp(asked_c)


def _holds(answer: HoldsAnswer, result: Result, units: Units) -> tuple[str, str, str | None, str]:
    """Return the four sentences about the holds besides the anneal."""
    def held(hold: MeasuredHold | None) -> str:
        return "none" if hold is None else whole_minutes(hold.held_s)

    if result is Result.YES:
        said = "Yes."
    elif result is Result.NOT_KNOWN:
        said = "Not known: a hold, or part of one, was not seen."
    else:
        strayed = [_strayed(asked, got, units) for asked, got in zip(answer.asked, answer.measured, strict=True)]
        said = f"{_NO}{', '.join(filter(None, strayed))}."
    return ("Were its other holds as long as planned?", said, ", ".join(held(hold) for hold in answer.measured),
            ", ".join(f"{whole_minutes(hold.duration_s)} at {units.temp(hold.temp_c)}" for hold in answer.asked))


def _strayed(asked: PlannedHold, got: MeasuredHold | None, units: Units) -> str:
    """Return how a hold strayed from its time: ``800 °C 28 min longer``; empty where it did not."""
    off_s, where = strayed_s(asked, got), units.temp(asked.temp_c)
    if not off_s:
        return ""
    return f"{where} not held" if got is None else (
        f"{where} {whole_minutes(abs(off_s))} {'longer' if off_s > 0 else 'shorter'}")


def _alarms(answer: AlarmsAnswer, result: Result) -> tuple[str, str, str | None, None]:
    """Return the sentences about the alarms of the firing; measured are their kinds, those that woke first."""
    def named(kinds: tuple[str, ...]) -> str:
        return ", ".join(dict.fromkeys(kinds))

    count, could_wait = answer.measured, "could wait for the morning"
    looks, named_all = len(count.looks), "; ".join(filter(None, (named(count.woke), named(count.looks))))
    if result is Result.YES:
        said = "Yes."
    elif count.woke:
        got = "got" if count.was_told else "would have got"
        said = f"{_NO}it {got} you up {_times(len(count.woke))}{f'; {looks} more {could_wait}' if looks else ''}."
    else:
        said = f"{_NO}{looks} alarm{'s' if looks > 1 else ''} that {could_wait}."
    return "Did it go by without an alarm?", said, named_all or None, None


def _times(count: int) -> str:
    """Return how often: ``once``, ``twice``, ``5 times``."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _anneal_hold(answer: AnnealHoldAnswer, result: Result, units: Units) -> tuple[str, str, str | None, str]:
    """Return the four sentences about the anneal hold."""
    held, planned, measured = answer.measured, answer.asked, None
    if held is not None:
        measured = whole_minutes(held.held_s) + (f" at {units.temp(held.mean_c)}" if held.mean_c is not None else "")
        unseen_min = round(held.unseen_s / 60)
        measured += f", {unseen_min} of them not seen" if unseen_min else ""
    if result is Result.NOT_KNOWN:
        said = "Not known."
        if answer.unseen is not None:
            said = f"Not known: {whole_minutes(answer.unseen.length_s)} were not seen."
    elif held is None and answer.undone is not None:
        said = f"{_NO}it was heated again after {whole_minutes(answer.undone.held_s)} of it."
    elif held is None:
        said = f"{_NO}none was seen."
    elif result is Result.NO:
        said = f"{_NO}{whole_minutes(planned.duration_s - held.held_s)} are missing."
    elif result is Result.PARTLY and held.mean_c is not None:
        said = f"In time, but {_off_target(held.mean_c - held.offset_k - planned.temp_c, units)} plan."
    else:
        said = "Yes."
    return ("Did it get its whole anneal hold?", said, measured,
            f"{units.temp(planned.temp_c)}, {whole_minutes(planned.duration_s)}")


def _off_target(off_k: float, units: Units) -> str:
    """Return a difference [K] with its side: ``11 °C above``."""
    return f"{units.difference(abs(off_k))} {'above' if off_k > 0 else 'below'}"


def _cooling(answer: CoolingAnswer, result: Result, units: Units) -> tuple[str, str, str | None, str | None]:
    """Return the four sentences about the cooling steps."""
    def steps(rates: CoolingRates | None) -> str | None:
        return None if rates is None else ", ".join(units.rate(rate) for rate in rates.steps_c_per_h)

    fastest = answer.measured.fastest_c_per_h if answer.measured is not None else None
    if answer.measured is None:
        said = "The cooling steps were not seen."
    elif result.is_well or fastest is None:
        said = f"Yes, on the mean of each step.{_a_little_faster(answer, units)}"
    else:
        said = f"{_NO}up to {units.rate(fastest)}."
    return "Did it cool as slowly as planned from there?", said, steps(answer.measured), steps(answer.asked)


def _a_little_faster(answer: CoolingAnswer, units: Units) -> str:
    """Return what still counts as kept, where a step was told faster than planned and it is a yes; else nothing."""
    measured, asked = answer.measured, answer.asked
    if measured is None or asked is None or all(
            was <= planned or units.rate(was) == units.rate(planned)
            for was, planned in zip(measured.steps_c_per_h, asked.steps_c_per_h, strict=True)):
        return ""
    return f" Up to {percent(AS_GOOD_TIMES - 1)} faster counts as kept."


def _climb(answer: ClimbAnswer, result: Result, units: Units) -> tuple[str, str, str, str]:
    """Return the four sentences about the climb."""
    climbed, limit = answer.measured, answer.asked
    if result.is_well:
        said = "Yes."
        if units.rate(climbed.rate_c_per_h) != units.rate(min(climbed.rate_c_per_h, limit.rate_c_per_h)):
            said = f"Yes. The limit is a rule of thumb: up to {units.rate(limit.kept_to_c_per_h)} counts as kept."
    elif result is Result.NO_IF:
        said = "Not if it was fused already; loose layers bear more."
    elif climbed.from_c is not None:
        said = (f"{_NO}{units.rate(climbed.rate_c_per_h)} from {units.temp(climbed.from_c)} after it had fallen: "
                "look for cracks when it is cold.")
    else:
        said = f"{_NO}faster than common practice even for loose layers."
    where = f"below {units.temp(climbed.below_c)}" if climbed.from_c is None else "from below its annealing range"
    return ("Did it climb gently enough while brittle?", said,
            f"up to {units.rate(climbed.rate_c_per_h)} over ten minutes {where}",
            f"about {units.rate(limit.rate_c_per_h)} for {limit.thickness_mm:g} mm "
            f"{'in loose layers' if limit.loose else 'fused in one'}")


def _relaxed(answer: RelaxedAnswer, result: Result, units: Units) -> tuple[str, str, str, str]:
    """Return the four sentences about what the time in the annealing range was worth."""
    got, need, error = answer.measured, answer.asked, answer.uncertainty
    if not answer.is_annealed:
        said = "Doubtful: the hold was too short for work of this thickness. Anneal it again."
    elif result is Result.YES:
        said = "Yes."
    elif result is Result.YES_IF:
        said = "Yes, if the piece was even by then; there was little time for that."
    else:
        left = "all" if got.share_left > _NEARLY_ALL else percent(got.share_left)
        said = f"{_NO}about {left} of a standing stress was left; anneal it again."
    return ("Did the hold relax the glass?", said,
            f"as much as {_minutes(got.worth_min)} at {units.temp(got.at_c)}",
            f"{_minutes(need.needed_min + need.evening_min)}; if the sensor reads {units.difference(error.off_k)} "
            f"too hot, {error.times:.1f} times as long")


def _stress(answer: StressAnswer, result: Result) -> tuple[str, str, str | None, str]:
    """Return the four sentences about the stress that stays."""
    mpa = megapascals(answer.measured.low_mpa, answer.measured.high_mpa)
    where = "it" if answer.thickness_mm is None else f"{answer.thickness_mm:g} mm"
    question, asked = f"Did little enough stress stay in {where}?", f"{answer.asked.mpa:g} MPa or less"
    if not answer.is_annealed:
        return (question, "Doubtful: the glass was not annealed long enough, so no figure is given. Leave it closed "
                "until cold, don't cut or drill it, and anneal it again.", None, asked)
    if result is Result.YES_IF:
        said = (f"Yes, {mpa}, if the glass is flat and even. The anneal hold was not whole: anneal uneven or "
                "precious work again.")
    elif result.is_well:
        said = f"Yes, {mpa}."
    elif result is Result.DOUBTFUL:
        said = f"Doubtful, {mpa}: look between crossed polarisers, and anneal it again if in doubt."
    else:
        said = f"{_NO}{mpa}: leave it closed until cold, don't cut or drill it, and anneal it again."
    return (question, said,
            f"{mpa} in the core of {answer.measured.thickness_mm:g} mm, from two cooled faces to one; estimate "
            f"for flat, even glass, within {_fraction(answer.uncertainty.share)}", asked)


def _below_range(answer: CoolingBelowRangeAnswer, result: Result, units: Units) -> tuple[str, str, str, str]:
    """Return the four sentences about the cooling below the annealing range."""
    pulled = answer.measured
    mpa = megapascals(pulled.low_mpa, pulled.high_mpa)
    at = "" if pulled.at_c is None else f" at {units.temp(pulled.at_c)}"
    if result.is_well:
        said = "Yes."
    elif result is Result.DOUBTFUL:
        said = f"Doubtful, {mpa} stood in it{at}: look for cracks when it is cold."
    else:
        said = (f"{_NO}{mpa} stood in it{at}: it may have cracked, or crack when it is touched. Leave it closed "
                "until cold, then look with safety glasses and gloves on.")
    faces = "one cooled face" if pulled.faces == 1 else "two cooled faces"
    so_fast = "" if result.is_well else ", if the glass cooled as fast as the reading"
    return ("Did it cool gently enough below the range?", said,
            f"{mpa} at the most, {pulled.thickness_mm:g} mm, {faces}{so_fast}",
            f"under about {answer.asked.mpa:g} MPa")


def megapascals(low: float, high: float) -> str:
    """Return a range of stress in words, to one figure and never more precise than it is."""
    if high < _LEAST_MPA:
        return f"less than {_LEAST_MPA:g} MPa"
    digits = 0 if high >= _WHOLE_FROM_MPA else 1
    a, b = f"{low:.{digits}f}", f"{high:.{digits}f}"
    return f"about {b} MPa" if a == b else f"about {a} to {b} MPa"


def _fraction(share: float) -> str:
    """Return a share in words: ``a fifth``, ``30 %``."""
    return _FRACTIONS.get(share, percent(share))


def _minutes(minutes: float) -> str:
    """Return minutes in whole figures; fewer than one are said to be that."""
    return whole_minutes(minutes * 60) if minutes >= 1.0 else "under 1 min"
