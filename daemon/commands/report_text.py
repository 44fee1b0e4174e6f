"""A report in plain lines for a terminal."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping
from typing import Any

from daemon.firing.alerts.registry import RANK_TITLES
from daemon.firing.durations import firing_clock, time_left, whole_minutes
from daemon.firing.events import Alert, Part
from daemon.firing.plan.schedule import BROKE_OFF, NOT_PLANNED, PlannedPart
from daemon.firing.report import Report
from daemon.firing.report import as_json as plain
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
    for part in found.parts:
        yield from _passed_over(found, last, part.index, words)
        last = part.index
        end_s = part.end_s if part.end_s is not None else part.start_s
        asked = asked_of(found.planned[part.index], words) if found.planned else ""
        yield (f"step {part.step}, {part.part:<4} {firing_clock(part.start_s):>6} {firing_clock(end_s):>6}  "
               f"{asked:<22} {got_of(part, end_s - part.start_s, words)}")
    yield ""
    if not found.alerts:
        yield "No alert."
    for alert in found.alerts:
        yield from _alert(alert)
    for answer in found.verdict_in_words():
        yield f"{answer.question} {answer.answer}"
        figures = [part for part in (answer.measured, f"asked: {answer.asked}" if answer.asked else "") if part]
        if figures:
            yield "    " + "; ".join(figures)
    yield ""
    yield NO_SAFETY_DEVICE + " What the glass itself suffered, cracked or stuck, no probe can see."


def _passed_over(found: Report, last: int, here: int, words: Units) -> Iterator[str]:
    """Yield a line for each planned hold between two parts that were run, with how long the kiln stood near it."""
    holds = [part for part in found.planned if part.part == "hold" and not part.is_made_up]
    answer = next((one for one in found.verdict if isinstance(one, HoldsAnswer)), None)
    answered = [] if answer is None else list(zip(answer.asked, answer.measured, strict=True))
    for hold in holds:
        # The answer has the same holds in the same order, but for the anneal.
        is_next = bool(answered) and answered[0][0] == PlannedHold(hold.to_c, hold.duration_s)
        got = answered.pop(0)[1] if is_next else None
        if last < hold.index < here:
            yield (f"step {hold.step}, hold {'':>6} {'':>6}  {asked_of(hold, words):<22} "
                   f"{'not seen' if got is None else f'about {whole_minutes(got.held_s)}'}")


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


def _alert(alert: Alert) -> Iterator[str]:
    """Yield the lines of one alert, an empty one last."""
    over = f", over {firing_clock(alert.cleared_s)}" if alert.cleared_s is not None else ""
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
