"""A plan as written on paper, ``220 / 670 / 0:30``, to a plan and back."""

from __future__ import annotations

import re
from typing import cast

from daemon.errors import BadInput
from daemon.firing.durations import hours_minutes
from daemon.firing.plan.plan import (
    PURPOSES,
    Plan,
    Purpose,
    Step,
    Unit,
    parse_plan,
    rate_to_unit,
    to_unit,
    write_plan,
)
from daemon.firing.plan.schedule import ASSUMED_ROOM_C

MAX_STEPS = 40
"""Steps that a plan in short notation may have. [chosen: no plan on paper is longer]"""
FREE_WORDS = frozenset({"free", "full", "afap", "fast", "9999"})
"""What plans on paper write for "as fast as the kiln goes"; common practice."""

_SPLIT = re.compile(r"[\s/;|]+")


def read_paper(title: str, unit: str, text: str, first: str = "rate") -> Plan:
    """Return the plan written one step a line: rate, target, hold (minutes or h:mm), and what it is for.

    Where ``first`` is "minutes", the first figure of a line is not a rate but how long it takes to the target
    (minutes or h:mm), as some papers have it; the first step sets out from a room.

    Raises
    ------
    BadInput
        Naming each line that can't be read, and what to write instead.
    """
    problems: list[str] = []
    lines = [line for line in text.splitlines() if line.strip()]
    steps: list[Step] = []
    for number, line in enumerate(lines, start=1):
        from_c = steps[-1].to_c if steps else ASSUMED_ROOM_C
        steps.append(_step(number, line, unit, problems, from_c if first == "minutes" else None))
    if not lines:
        problems.append("The plan has no step. Write one a line: 220 / 670 / 0:30")
    if len(lines) > MAX_STEPS:
        problems.append(f"The plan has {len(lines)} steps. Write at most {MAX_STEPS}.")
    if problems:
        raise BadInput("plan", "\n".join(problems))
    # The plan's own reader has the last word on every figure.
    return parse_plan(write_plan(Plan(title, cast(Unit, unit), tuple(steps))), "This plan")


def _step(number: int, line: str, unit: str, problems: list[str], from_c: float | None) -> Step:
    """Return one line's step; ``from_c`` is where it sets out where its first figure is a time."""
    words = [word for word in _SPLIT.split(line.strip()) if word]
    purpose = words.pop().lower() if words and words[-1].lower() in PURPOSES else None
    if not 2 <= len(words) <= 3:
        problems.append(f"Line {number}: “{line.strip()[:60]}” has {len(words)} figures. "
                        "Write rate / target / hold, as in 220 / 670 / 0:30.")
        return Step(None, 0.0)
    rate, target = words[0].lower().replace(",", "."), words[1].replace(",", ".")
    free = rate in FREE_WORDS
    hold_min = _minutes(words[2]) if len(words) == 3 else 0.0
    to_target_min = _minutes(words[0]) if from_c is not None and not free else None
    if from_c is not None and not free and not to_target_min:
        problems.append(f"Line {number}: “{words[0][:20]}” is no time to the target. Write minutes, hours as 1:30, "
                        "or free.")
    elif from_c is None and not free and not _is_figure(rate):
        problems.append(f"Line {number}: “{words[0][:20]}” is not a rate. Write degrees per hour, or free.")
    if not _is_figure(target):
        problems.append(f"Line {number}: “{words[1][:20]}” is not a target. Write degrees.")
    if hold_min is None:
        problems.append(f"Line {number}: “{words[2][:20]}” is not a hold. Write minutes, or hours as 1:30.")
    if problems:
        return Step(None, 0.0)
    fahrenheit = unit == "F"
    to_c = (float(target) - 32) * 5 / 9 if fahrenheit else float(target)
    if from_c is not None and to_target_min:
        per_hour: float | None = abs(to_c - from_c) / to_target_min * 60
    else:
        per_hour = None if free else float(rate) * (5 / 9 if fahrenheit else 1.0)
    return Step(
        rate_c_per_h=per_hour, to_c=to_c,
        hold_s=(hold_min or 0.0) * 60, purpose=cast("Purpose | None", purpose),
    )


def _is_figure(word: str) -> bool:
    return re.fullmatch(r"-?[0-9]{1,5}(\.[0-9]{1,3})?", word) is not None


def _minutes(word: str) -> float | None:
    clock = re.fullmatch(r"([0-9]{1,3}):([0-5][0-9])", word)
    if clock:
        return int(clock[1]) * 60.0 + int(clock[2])
    plain = re.fullmatch(r"[0-9]{1,5}([.,][0-9]{1,2})?", word)
    return float(word.replace(",", ".")) if plain else None


def write_paper(plan: Plan) -> tuple[str, ...]:
    """Return the plan one step a line, in its own unit: ``220 / 670 / 0:30 squeeze``."""
    lines = []
    for step in plan.steps:
        rate = "free" if step.rate_c_per_h is None else f"{rate_to_unit(step.rate_c_per_h, plan.unit):.0f}"
        hold = f" / {hours_minutes(step.hold_s)}" if round(step.hold_s / 60) else ""
        purpose = f" {step.purpose}" if step.purpose else ""
        lines.append(f"{rate} / {to_unit(step.to_c, plan.unit):.0f}{hold}{purpose}")
    return tuple(lines)
