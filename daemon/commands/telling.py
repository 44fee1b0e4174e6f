"""A report in plain lines for a terminal."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping
from typing import Any

from daemon.firing.events import Alert, Rank
from daemon.firing.report import Report
from daemon.firing.report import as_json as plain
from daemon.firing.schedule import PlannedPart
from daemon.firing.wording import NO_SAFETY_DEVICE, Wording

RANK_WORDS = {Rank.WAKE: "wake", Rank.LOOK: "when you're up", Rank.LOG: "noted"}


def print_report(found: Report, *, as_json: bool, extra: Mapping[str, Any] | None = None) -> None:
    """Print the report, as lines or as JSON with ``extra`` keys."""
    if not as_json:
        sys.stdout.writelines(line + "\n" for line in lines(found))
        return
    json.dump({**plain(found), **(extra or {})}, sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
    sys.stdout.write("\n")


def clock(seconds: float) -> str:
    """Return a time of the firing as h:mm."""
    sign = "-" if seconds < 0 else ""
    minutes = int(abs(seconds) // 60)
    return f"{sign}{minutes // 60}:{minutes % 60:02d}"


def lines(found: Report) -> Iterator[str]:
    """Yield the report line by line."""
    words = Wording(found.setup.unit, found.setup.thickness_mm)
    yield from _summary(found, words)
    if found.parts:
        yield ""
        yield f"{'part':<13} {'from':>6} {'to':>6}  {'asked':<22} got"
        for part in found.parts:
            planned = found.planned[part.index]
            end = "" if part.end_s is None else clock(part.end_s)
            got = _got(part.part, part.rate_c_per_h, part.mean_c, (part.end_s or part.start_s) - part.start_s, words)
            yield (f"step {part.step}, {part.part:<4} {clock(part.start_s):>6} {end:>6}  "
                   f"{_asked(planned, words):<22} {got}")
    yield ""
    if not found.alerts:
        yield "No alert."
    for alert in found.alerts:
        yield from _alert(alert)
    for answer in found.verdict:
        yield f"{answer.question} {answer.answer}"
    yield ""
    yield NO_SAFETY_DEVICE + " What the glass itself suffered, cracked or stuck, no probe can see."


def _summary(found: Report, words: Wording) -> Iterator[str]:
    title = found.setup.plan.title if found.setup.plan else "A firing without a plan"
    yield title
    peak = "no temperature" if found.peak_c is None or found.peak_s is None else \
        f"peak {words.temp(found.peak_c)} at {clock(found.peak_s)}"
    state = "" if found.setup.plan is None else ", plan finished" if found.finished else ", plan not finished"
    yield f"{clock(found.duration_s)} h, {found.readings} readings, {peak}{state}"
    if found.gaps_s:
        yield f"Rows are missing for {found.gaps_s / 60:.0f} min; nothing is invented there."
    if found.offset_c is not None:
        yield (f"Usual difference: the probe reads {words.difference(abs(found.offset_c))} "
               f"{'above' if found.offset_c >= 0 else 'below'} the plan's holds.")


def _asked(planned: PlannedPart, words: Wording) -> str:
    if planned.part == "hold":
        return f"{words.temp(planned.to_c)}, {planned.duration_s / 60:.0f} min"
    rate = "free" if planned.rate_c_per_h is None else words.rate(planned.rate_c_per_h)
    return f"{rate} to {words.temp(planned.to_c)}"


def _got(part: str, rate: float | None, mean_c: float | None, length_s: float, words: Wording) -> str:
    if part == "hold":
        return f"{length_s / 60:.0f} min" + (f" at {words.temp(mean_c)}" if mean_c is not None else "")
    return "unknown" if rate is None else words.rate(rate)


def _alert(alert: Alert) -> Iterator[str]:
    over = f", over {clock(alert.cleared_s)}" if alert.cleared_s is not None else ""
    under = f", under {alert.under}" if alert.under else ""
    yield (f"[{RANK_WORDS[alert.rank]}] {alert.kind}, since {clock(alert.since_s)}, "
           f"raised {clock(alert.raised_s)}{over}{under}")
    yield f"    {alert.text.what}"
    yield f"    {alert.text.meaning}"
    yield f"    {alert.text.do}"
    if alert.text.time_left_s is not None:
        yield f"    Time left: {alert.text.time_left_s / 60:.0f} min." if alert.text.time_left_s >= 60 \
            else "    Time left: none, act now."
    yield ""
