"""A whole firing judged at once: what replay and rehearse print, what re-judging compares."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from daemon.firing.events import Alert, Event, Part, Rank, Said, Sample
from daemon.firing.evidence import alarms_answer, evidence, parts_seen
from daemon.firing.plan.schedule import PlannedPart, squeezes
from daemon.firing.setup import Setup
from daemon.firing.situation.probe_doubt import Disbelief
from daemon.firing.state import State
from daemon.firing.step import begin, step
from daemon.firing.trace.csv_trace import gaps
from daemon.firing.units import Units
from daemon.firing.verdict.answer import AnnealHoldAnswer, Answer, RelaxedAnswer, Result, StressAnswer
from daemon.firing.verdict.glass_verdict import across_unseen, glass_answers, glass_json, rounded, unknown_from
from daemon.firing.verdict.plan_verdict import verdict
from daemon.firing.verdict.verdict_words import AnswerInWords, in_words
from daemon.glass.load import Figures


@dataclass(frozen=True)
class Report:
    """What a firing came to."""

    setup: Setup
    planned: tuple[PlannedPart, ...]
    parts: tuple[Part, ...]
    alerts: tuple[Alert, ...]
    verdict: tuple[Answer, ...]
    events: tuple[Event, ...]
    peak_c: float | None
    peak_s: float | None
    duration_s: float
    finished: bool
    readings: int
    gaps_s: float
    offset_k: float | None
    suffered: Figures | None
    """What the load went through; None without a reading."""
    glass_lost: Disbelief | None = None
    """From where on what the glass went through is not known, since the readings can't be believed; else None."""
    unseen_s: float = 0.0
    """How long there was no temperature, rows missing or not [s]; short breaks left out."""
    caveats: tuple[str, ...] = ()
    """What to bear in mind of a recorded trace, as sentences (see daemon.commands.printed.trace_warnings)."""

    @property
    def woke(self) -> bool:
        """Return whether any alert reached the rank of wake."""
        return any(alert.rank is Rank.WAKE for alert in self.alerts)

    def verdict_in_words(self, unit: str = "") -> tuple[AnswerInWords, ...]:
        """Return the verdict in sentences, in ``unit``, "C" or "F"; in the owner's where that is empty."""
        units = Units(unit or self.setup.unit)
        return tuple(in_words(answer, units) for answer in self.verdict)

    def verdict_json(self, unit: str = "") -> list[dict[str, Any]]:
        """Return the verdict as plain values, in ``unit`` as ``verdict_in_words`` has it."""
        return [answer.as_json() for answer in self.verdict_in_words(unit)]


def judge(setup: Setup, entries: Iterable[Sample | Said]) -> Report:
    """Return the report of the entries, in time order, run through the one decision."""
    state = begin(setup)
    events: list[Event] = []
    samples: list[Sample] = []
    for entry in entries:
        state, brought = step(state, entry)
        events += brought
        if isinstance(entry, Sample) and (not samples or entry.t_s > samples[-1].t_s):
            samples.append(entry)
    return report(state, samples, tuple(events))


def report(state: State, samples: list[Sample], events: tuple[Event, ...]) -> Report:
    """Return the report of a firing that has been stepped through."""
    setup = state.setup
    last_s = samples[-1].t_s if samples else 0.0
    first_s = samples[0].t_s if samples else 0.0
    parts = parts_seen(state)
    seen = evidence(state)
    given = setup.offset_k
    learned = state.offset.learned_k
    suffered = state.load.figures()
    lost = unknown_from(state.unbelieved(), setup.glass)
    peak = None if state.peak_s is None or state.peak_c is None else (state.peak_s, state.peak_c)
    offset_k = None if given is None and learned is None else (given or 0.0) + (learned or 0.0)
    of_plan = verdict(state.parts, state.anneal, seen)
    return Report(
        setup=setup, planned=state.parts, parts=parts, alerts=state.board.alerts,
        verdict=(*of_plan,
                 *across_unseen(_of_holds(of_plan, glass_answers(
                     setup.glass, suffered, loose=squeezes(state.parts), lost=lost), state.was_anneal_enough),
                     seen.holes, setup.glass, lost, peak),
                 alarms_answer(state.board.alerts, was_watched=setup.was_watched)),
        events=events, peak_c=state.peak_c, peak_s=state.peak_s, duration_s=last_s - first_s,
        finished=state.finished, readings=sum(1 for sample in samples if sample.temp_c is not None),
        gaps_s=sum(b - a for a, b in gaps(samples)), offset_k=offset_k,
        suffered=suffered, glass_lost=lost,
        unseen_s=sum(hole.to_s - hole.from_s for hole in state.blind.holes(last_s)),
    )


def _of_holds(of_plan: Iterable[Answer], of_glass: Iterable[Answer], was_enough: bool | None) -> list[Answer]:
    """Return the answers about the glass; none about what the hold did where there was surely no hold.

    A slow passage relaxes something too. What stress it left is asked for itself. Where the hold was too short for
    the plan, a yes about the glass holds only for what is reckoned: a flat, even slab. Where it was too short for
    this glass as well, as its alert said, there is no yes: the figures of an even slab say nothing of the night.
    """
    short = next((answer for answer in of_plan
                  if isinstance(answer, AnnealHoldAnswer) and answer.result is Result.NO), None)
    if short is None:
        return list(of_glass)
    told = [answer for answer in of_glass if short.measured is not None or not isinstance(answer, RelaxedAnswer)]
    return [_of_short_hold(answer, is_enough=was_enough is not False) for answer in told]


def _of_short_hold(answer: Answer, *, is_enough: bool) -> Answer:
    """Return an answer about the glass after an anneal hold that was shorter than planned."""
    if not isinstance(answer, RelaxedAnswer | StressAnswer) or not answer.result.is_well:
        return answer
    if not is_enough:
        return replace(answer, result=Result.DOUBTFUL, is_annealed=False)
    return replace(answer, result=Result.YES_IF)


def as_json(found: Report) -> dict[str, Any]:
    """Return the report as plain values; what is unknown is None, never NaN."""
    return {
        "summary": {
            "peak_c": rounded(found.peak_c, 2), "peak_s": rounded(found.peak_s, 1),
            "duration_s": rounded(found.duration_s, 1), "finished": found.finished, "readings": found.readings,
            "gaps_s": rounded(found.gaps_s, 1), "offset_c": rounded(found.offset_k, 2),
        },
        "parts": [_part(part, found.planned[part.index] if found.planned else None) for part in found.parts],
        "alerts": [alert_json(alert, found.alerts) for alert in found.alerts],
        "glass": glass_json(found.setup.glass, found.suffered, found.glass_lost),
        "verdict": found.verdict_json(),
        "caveats": list(found.caveats),
    }


def _part(part: Part, planned: PlannedPart | None) -> dict[str, Any]:
    """Return one part as plain values, as run and as planned."""
    return {
        "step": part.step, "part": part.part, "start_s": rounded(part.start_s, 1),
        "end_s": rounded(part.end_s, 1), "rate_c_per_h": rounded(part.rate_c_per_h, 1),
        "mean_c": rounded(part.mean_c, 2),
        "planned": None if planned is None else {
            "from_c": rounded(planned.from_c, 2), "to_c": rounded(planned.to_c, 2),
            "rate_c_per_h": rounded(planned.rate_c_per_h, 2),
            "duration_s": rounded(planned.duration_s, 1) if planned.rate_c_per_h is not None else None,
            "purpose": planned.purpose,
        },
    }


def cause_of(alert: Alert, alerts: Iterable[Alert]) -> str | None:
    """Return the kind that an alert stands under, by the name its cause has now."""
    under = alert.under
    if under is None or any(other.kind == under for other in alerts):
        return under
    return next((other.kind for other in alerts if under in (kind for _, kind in other.named)), under)


def alert_json(alert: Alert, alerts: Iterable[Alert]) -> dict[str, Any]:
    """Return one of a firing's ``alerts`` as plain values, as the commands print it and the page reads it."""
    return {
        "no": alert.no, "kind": alert.kind, "rank": alert.rank.value,
        "since_s": rounded(alert.since_s, 1), "raised_s": rounded(alert.raised_s, 1),
        "woke_s": rounded(alert.woke_s, 1), "cleared_s": rounded(alert.cleared_s, 1),
        "acknowledged_s": rounded(alert.acknowledged_s, 1), "step": alert.step,
        "named": [[rounded(t_s, 1), kind] for t_s, kind in alert.named], "under": cause_of(alert, alerts),
        "text": {
            "what": alert.text.what, "meaning": alert.text.meaning, "do": alert.text.do,
            "time_left_s": rounded(alert.text.time_left_s, 0),
        },
    }
