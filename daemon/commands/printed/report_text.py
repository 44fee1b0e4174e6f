"""A report in plain lines for a terminal."""

from __future__ import annotations

import json
import sys
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from daemon.firing.alerts.registry import RANK_TITLES
from daemon.firing.durations import firing_clock, time_left, whole_minutes
from daemon.firing.events import Alert, Part
from daemon.firing.plan.keyed import begun_before
from daemon.firing.plan.schedule import BEFORE_LINES, BROKE_OFF, NOT_PLANNED, PlannedPart
from daemon.firing.report import Report
from daemon.firing.report import as_json as plain
from daemon.firing.told_before import is_ended_by_lines, keyed_in_at
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from daemon.firing.verdict.answer import HoldsAnswer
from daemon.firing.verdict.answer_values import PlannedHold
from daemon.plain_json import without_minus_zero


def print_report(found: Report, *, as_json: bool, extra: Mapping[str, Any] | None = None) -> None:
    """Print the report, as lines or as JSON with ``extra`` keys."""
    if not as_json:
        sys.stdout.writelines(line + "\n" for line in lines(found))
        return
    told = without_minus_zero({**plain(found), **(extra or {})})
    json.dump(told, sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
    sys.stdout.write("\n")


def lines(found: Report) -> Iterator[str]:
    """Yield the report line by line."""
    words = Units(found.setup.unit)
    yield found.setup.plan.title if found.setup.plan else "A firing without a plan"
    yield summary(found)
    yield from (f"Bear in mind: {caveat}" for caveat in found.caveats)
    usual = offset_words(found)
    if usual:
        yield usual
    if found.parts:
        yield ""
        yield f"{'part':<13} {'from':>6} {'to':>6}  {'asked':<22} got"
    last = found.parts[0].index if found.parts else 0
    for row in part_rows(found):
        yield from _passed_over(found, last, row.index, words)
        last = row.index
        yield (f"{row.name:<13} {firing_clock(row.start_s):>6} {firing_clock(row.end_s):>6}  {row.asked:<22} "
               f"{row.got}")
    yield ""
    if not found.alerts:
        yield "No alert."
    keyed_s = keyed_in_at(found.setup)
    for alert in found.alerts:
        yield from _alert(alert, over_words(alert, keyed_s))
    for answer in found.verdict_in_words():
        yield f"{answer.question} {answer.answer}"
        figures = [part for part in (answer.measured, f"asked: {answer.asked}" if answer.asked else "") if part]
        if figures:
            yield "    " + "; ".join(figures)
    yield ""
    yield NO_SAFETY_DEVICE + " What the glass itself suffered, cracked or stuck, no probe can see."


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part of the firing as a row of the table."""

    index: int
    name: str
    """``step 4, hold``."""
    start_s: float
    end_s: float
    asked: str
    got: str


def part_rows(found: Report) -> Iterator[PartRow]:
    """Yield the parts that were run, in the owner's unit.

    What was run of a part before its line was keyed in has a row of its own: nobody had planned it then.
    """
    words = Units(found.setup.unit)
    keyed_in = None if found.setup.plan is None else found.setup.plan.keyed_in
    for part in found.parts:
        start_s, end_s = part.start_s, part.end_s if part.end_s is not None else part.start_s
        asked = asked_of(found.planned[part.index], words) if found.planned else ""
        got = got_of(part, end_s - start_s, words)
        if keyed_in is not None and begun_before(keyed_in, part.step, start_s):
            yield PartRow(part.index, BEFORE_LINES, start_s, min(end_s, keyed_in.at_s), NOT_PLANNED, "")
            if end_s <= keyed_in.at_s:
                continue
            start_s, got = keyed_in.at_s, "unknown" if part.part == "ramp" else whole_minutes(end_s - keyed_in.at_s)
        yield PartRow(part.index, f"step {part.step}, {part.part}", start_s, end_s, asked, got)


def _passed_over(found: Report, last: int, here: int, words: Units) -> Iterator[str]:
    """Yield a line for each planned hold between two parts that were run, with how long the kiln stood near it."""
    missing = "not seen" if found.unseen_s or found.glass_lost is not None else "not held"
    holds = [part for part in found.planned if part.part == "hold" and not part.is_made_up]
    answer = next((one for one in found.verdict if isinstance(one, HoldsAnswer)), None)
    answered = [] if answer is None else list(zip(answer.asked, answer.measured, strict=True))
    for hold in holds:
        # The answer has the same holds in the same order, but for the anneal.
        is_next = bool(answered) and answered[0][0] == PlannedHold(hold.to_c, hold.duration_s)
        got = answered.pop(0)[1] if is_next else None
        if last < hold.index < here:
            yield (f"step {hold.step}, hold {'':>6} {'':>6}  {asked_of(hold, words):<22} "
                   f"{missing if got is None else f'about {whole_minutes(got.held_s)}'}")


def summary(found: Report) -> str:
    """Return length, readings, peak and holes of a firing in a sentence or two."""
    words = Units(found.setup.unit)
    peak = "no temperature" if found.peak_c is None or found.peak_s is None else \
        f"peak {words.temp(found.peak_c)} at {firing_clock(found.peak_s)}"
    state = "" if found.setup.plan is None else ", plan finished" if found.finished else ", plan not finished"
    holes = "" if not found.gaps_s else \
        f" Rows are missing for {whole_minutes(found.gaps_s)}; nothing is invented there."
    if found.unseen_s > found.gaps_s + 60.0:
        holes += f" No temperature for {whole_minutes(found.unseen_s)} in all; nothing watched the kiln then."
    if found.setup.plan is None:
        holes += " No plan: nothing but the reading is watched."
    return f"{firing_clock(found.duration_s)} h, {found.readings} readings, {peak}{state}.{holes}"


def offset_words(found: Report) -> str:
    """Return how the probe reads against the plan's holds; empty where that is unknown."""
    if found.offset_k is None:
        return ""
    words = Units(found.setup.unit)
    if abs(found.offset_k) < 0.5:
        return "Usual difference: none; in the holds the probe reads what the plan asks."
    side = "above" if found.offset_k > 0 else "below"
    return (f"Usual difference: the probe reads {words.difference(abs(found.offset_k))} {side} what the plan asks in "
            "its holds.")


def asked_of(planned: PlannedPart, words: Units) -> str:
    """Return what the plan asked of a part, or that it broke off or was not planned."""
    if planned.is_made_up:
        return NOT_PLANNED if planned.direction < 0 else BROKE_OFF
    if planned.part == "hold":
        return f"{words.temp(planned.to_c)}, {whole_minutes(planned.duration_s)}"
    rate = "free" if planned.rate_c_per_h is None else words.rate(planned.rate_c_per_h)
    return f"{rate} to {words.temp(planned.to_c)}"


def got_of(part: Part, length_s: float, words: Units) -> str:
    """Return what a part got."""
    if part.part == "hold":
        return whole_minutes(length_s) + (f" at {words.temp(part.mean_c)}" if part.mean_c is not None else "")
    return "unknown" if part.rate_c_per_h is None else words.rate(part.rate_c_per_h)


def over_words(alert: Alert, keyed_s: Collection[float]) -> str:
    """Return when an alert ended, and whether lines keyed in at ``keyed_s`` [s] ended it; empty while it stands."""
    if alert.cleared_s is None:
        return ""
    when = firing_clock(alert.cleared_s)
    return f"answered by the lines keyed in at {when}" if is_ended_by_lines(alert, keyed_s) else f"over {when}"


def _alert(alert: Alert, over: str) -> Iterator[str]:
    """Yield the lines of one alert, an empty one last; ``over`` says how it ended, where it did."""
    over = f", {over}" if over else ""
    under = f", under {alert.under}" if alert.under else ""
    later = alert.woke_s is not None and firing_clock(alert.woke_s) != firing_clock(alert.raised_s)
    woke = f", woke {firing_clock(alert.woke_s)}" if later and alert.woke_s is not None else ""
    yield (f"[{RANK_TITLES[alert.rank]}] {alert.kind}, since {firing_clock(alert.since_s)}, "
           f"raised {firing_clock(alert.raised_s)}{woke}{over}{under}")
    yield f"    {alert.text.what}"
    yield f"    {alert.text.meaning}"
    yield f"    {alert.text.do}"
    if alert.text.time_left_s is not None:
        yield f"    {time_left(alert.text.time_left_s)}"
    yield ""
