"""A plan as it stands on paper, ``1. 300 1225 30`` or ``220 / 670 / 0:30 squeeze``, to a plan and back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, cast

from daemon.errors import BadInput
from daemon.firing.durations import hours_minutes
from daemon.firing.plan.plan import (
    Plan,
    Purpose,
    Step,
    Unit,
    in_c,
    parse_plan,
    rate_to_unit,
    to_unit,
    write_plan,
)
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from web.plans.notation_line import AS_IN, HOLD_SHARE, NotUnderstood
from web.plans.notation_unit import ReadUnit, unit_of
from web.plans.paper_lines import Paper, Row
from web.plans.plan_words import figure, minutes_words, step_words

MAX_STEPS = 40
"""Steps that a plan in short notation may have. [chosen: no plan on paper is longer]"""

@dataclass(frozen=True, slots=True)
class ReadLine:
    """What became of one line of the paper.

    Attributes
    ----------
    number
        Counted from 1, blank lines too.
    kind
        ``step``, ``said`` (a heading, a remark, a hold for the step before) or ``wrong``.
    words
        The reading, as one sentence.
    step
        The number of its step; 0 where it is none.
    """

    number: int
    kind: Literal["step", "said", "wrong"]
    words: str
    step: int = 0


@dataclass(frozen=True)
class Reading:
    """A paper as it was read.

    Attributes
    ----------
    plan
        None where a line is wrong, or there is no step.
    unit
        Its unit, and why.
    lines
        What became of each line that is not blank.
    heading
        The first line that is no step, where one stands before the steps: perhaps the plan's name.
    """

    plan: Plan | None
    unit: ReadUnit
    lines: tuple[ReadLine, ...]
    heading: str = ""

    @property
    def wrong(self) -> tuple[str, ...]:
        """Return what is wrong, a line each."""
        return tuple(line.words for line in self.lines if line.kind == "wrong")


def read_paper(title: str, unit: str, text: str, first: str = "rate") -> Plan:
    """Return the plan written on paper; see ``read`` for the arguments.

    Raises
    ------
    BadInput
        Naming each line that can't be read, what was read, and what to write instead.
    """
    found = read(text, unit, first, title=title)
    if found.plan is None:
        raise BadInput("plan", "\n".join(found.wrong))
    return found.plan


def read(text: str, unit: str = "", first: str = "rate", *, owner_unit: str = "C", title: str = "A plan") -> Reading:
    """Return how a plan on paper is read, one step a line: rate, target, hold, and what the step is for.

    Parameters
    ----------
    text
        The paper.
    unit
        "C" or "F" where the maker chose; empty: as a line says, else as the figures suggest.
    first
        "minutes" where a first figure without a unit is how long it takes to the target, as some papers have it; the
        first step sets out from a room.
    owner_unit
        The unit of a paper whose figures suggest none.
    title
        What the plan is called.
    """
    paper = Paper(first == "minutes")
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            paper.take(number, line.strip())
    targets = [row.written.target for row in paper.rows if row.written and row.written.target is not None]
    chosen = unit_of(paper.units, targets, unit, owner_unit)
    return _made(paper, chosen, title)


def _made(paper: Paper, unit: ReadUnit, title: str) -> Reading:
    """Return the reading of a paper whose unit is known."""
    steps: list[Step] = []
    at_line: list[int] = []
    lines: list[ReadLine] = []
    for row in paper.rows:
        try:
            lines.append(_taken(row, unit.unit, steps, at_line))
        except NotUnderstood as err:
            lines.append(ReadLine(row.number, "wrong", f"Line {row.number}: “{row.line[:60]}”. {err}"))
    wrong = any(line.kind == "wrong" for line in lines)
    lines += [ReadLine(number, "wrong", words) for number, words in _as_a_whole(unit, len(steps), wrong=wrong)]
    plan = None
    if steps and not any(line.kind == "wrong" for line in lines):
        try:  # The plan's own reader has the last word on every figure.
            plan = parse_plan(write_plan(Plan(title, cast(Unit, unit.unit), tuple(steps))), "This plan")
        except BadInput as err:
            lines += list(_by_line(err, at_line))
    return Reading(plan, unit, tuple(lines), paper.heading)


def _as_a_whole(unit: ReadUnit, steps: int, *, wrong: bool) -> Iterator[tuple[int, str]]:
    """Yield what is wrong with a paper as a whole, with the line it is seen at."""
    if unit.wrong:
        yield unit.line, unit.wrong
    if not steps and not wrong:
        yield 1, f"There is no step yet. {AS_IN}"
    if steps > MAX_STEPS:
        yield MAX_STEPS, f"The plan has {steps} steps. Write at most {MAX_STEPS}."


def _taken(row: Row, unit: str, steps: list[Step], at_line: list[int]) -> ReadLine:
    """Add a line's step to ``steps``, and its number to ``at_line``; return the line in words."""
    if row.wrong or row.written is None:
        return ReadLine(row.number, "wrong" if row.wrong else "said", row.wrong or row.said)
    written, before = row.written, steps[-1] if steps else None
    target = written.target
    if target is None:
        if before is None:
            raise NotUnderstood("There is no step before this hold.", AS_IN)
        steps[-1] = replace(before, hold_s=before.hold_s + written.hold_min * 60)
        return ReadLine(row.number, "said", f"Step {len(steps)} holds {minutes_words(steps[-1].hold_s / 60)}.")
    from_c, to_c = before.to_c if before else ASSUMED_ROOM_C, in_c(target, unit)
    bare = not written.free and written.rate is None and written.way_min is None
    if before and bare and written.hold_min and _same(to_c, from_c):
        steps[-1] = replace(before, hold_s=before.hold_s + written.hold_min * 60,
                            purpose=before.purpose or cast("Purpose | None", written.purpose or None))
        return ReadLine(row.number, "said", f"Step {len(steps)} holds {minutes_words(steps[-1].hold_s / 60)}.")
    if written.falls and to_c >= from_c:
        raise NotUnderstood(f"The minus sign says that it falls, but {target:g} is above the step before.",
                            "Take the sign away, or correct the target.")
    rate = None if written.rate is None else written.rate * (5 / 9 if unit == "F" else 1.0)
    if written.way_min is not None:
        rate = abs(to_c - from_c) / written.way_min * 60 or None
    steps.append(Step(rate, to_c, written.hold_min * 60, cast("Purpose | None", written.purpose or None)))
    at_line.append(row.number)
    words = step_words(len(steps), steps[-1], from_c, unit, way_min=written.way_min)
    remarks = f" ({'; '.join(written.remarks)})" if written.remarks else ""
    return ReadLine(row.number, "step", f"{words}{remarks}", len(steps))


def _by_line(err: BadInput, at_line: Sequence[int]) -> Iterator[ReadLine]:
    """Yield the problems of the plan's own reader, each at the line of its step."""
    for problem in err.text.split("\n  ")[1:]:
        found = re.match(r"step (\d+): ", problem)
        number = at_line[int(found[1]) - 1] if found and int(found[1]) <= len(at_line) else 1
        yield ReadLine(number, "wrong", f"Line {number}, {problem}" if found else problem)


_SAME_K = 0.3
"""Targets as near as this are the same [K]. [derived: half a degree Fahrenheit]"""


def _same(one_c: float, other_c: float) -> bool:
    return abs(one_c - other_c) < _SAME_K


def _hold(seconds: float) -> str:
    """Return a hold as a plan writes it: h:mm, or minutes where it has a fraction of one."""
    return hours_minutes(seconds) if not round(seconds, 3) % 60 else f"{round(seconds / 60, 3):g} min"


def write_paper(plan: Plan) -> tuple[str, ...]:
    """Return the plan one step a line, in its own unit: ``220 / 670 / 0:30 squeeze``."""
    lines = []
    for step in plan.steps:
        target = to_unit(step.to_c, plan.unit)
        per_hour = rate_to_unit(step.rate_c_per_h or 0.0, plan.unit)
        rate = "free" if step.rate_c_per_h is None else figure(per_hour)
        # Where the target is small against the rate, two bare figures would be taken for a target and a hold.
        hold = f" / {_hold(step.hold_s)}" if step.hold_s or per_hour > 0.9 * HOLD_SHARE * target else ""
        purpose = f" {step.purpose}" if step.purpose else ""
        lines.append(f"{rate} / {figure(target)}{hold}{purpose}")
    return tuple(lines)
