"""The written plan: steps of rate, target and hold, read from and written to TOML."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Literal, get_args

from daemon.errors import BadInput
from daemon.firing.plan.keyed import KeyedIn, read_keyed_in
from daemon.toml import finite, named, not_a_line, read_toml, shown

Unit = Literal["C", "F"]
Purpose = Literal["squeeze", "top", "anneal", "burn-off"]
PURPOSES: tuple[str, ...] = get_args(Purpose)

MIN_TARGET_C = 0.0
MAX_TARGET_C = 1400.0
"""Lowest and highest target a plan may have [°C]. [common practice: no glass is kiln-formed hotter, so a target above
it is a slip of the pen]"""
MIN_RATE_C_PER_H = 0.05
"""Slowest rate a plan may have [°C/h]: optical glass is cooled at about 1 K/h, and what our own advice asks for the
thickest casting it knows is just above this. [source: Hoffmann et al., SPIE 970, 1989]"""
MAX_RATE_C_PER_H = 2000.0
"""Fastest rate a plan may have [°C/h]; plans on paper write 9999 for "as fast as it goes".
[common practice: no studio kiln climbs faster]"""
MAX_HOLD_MIN = 10_000.0
"""Longest hold [min], about a week. [common practice: longer than the longest casting anneal]"""
MAX_STEPS = 200
"""Most steps of a plan. [chosen: no controller takes as many]"""

_PLAN_KEYS = {"title", "unit", "step"}
_STEP_KEYS = {"rate", "to", "hold_min", "purpose", "tell"}


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a plan.

    Attributes
    ----------
    rate_c_per_h
        How fast to go there, unsigned [°C/h]; None is free: as fast as the kiln goes, or power off.
    to_c
        Where to [°C].
    hold_s
        How long to stay [s].
    purpose
        What the step is for, where the maker said so.
    tell
        What to say when the step begins.
    """

    rate_c_per_h: float | None
    to_c: float
    hold_s: float = 0.0
    purpose: Purpose | None = None
    tell: str | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """A schedule as the maker wrote it; all figures inside are in °C, ``unit`` is how it was written."""

    title: str
    unit: Unit
    steps: tuple[Step, ...]
    keyed_in: KeyedIn | None = None
    """Where lines were keyed in on the way of its firing; None in every plan that was written before one."""

    @property
    def highest_c(self) -> float:
        """Return the highest target [°C]."""
        return max(step.to_c for step in self.steps)


def to_unit(temp_c: float, unit: str) -> float:
    """Return a temperature [°C] in ``unit`` ("C" or "F")."""
    return temp_c * 9 / 5 + 32 if unit == "F" else temp_c


def rate_to_unit(rate_c_per_h: float, unit: str) -> float:
    """Return a rate or a difference [°C/h or °C] in ``unit`` ("C" or "F")."""
    return rate_c_per_h * 9 / 5 if unit == "F" else rate_c_per_h


def in_c(value: float, unit: str) -> float:
    """Return in °C a temperature written in ``unit`` ("C" or "F")."""
    return (value - 32) * 5 / 9 if unit == "F" else value


class _Reader:
    """Collects every problem of one plan, so that the maker hears of all at once."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.problems: list[str] = []

    def problem(self, key: str, what: str, remedy: str) -> None:
        """Note what is wrong with a key, and how to mend it."""
        self.problems.append(f"{key}: {what} {remedy}")

    def unknown_keys(self, table: dict[str, Any], known: set[str], where: str) -> None:
        """Note every key of a table that nobody reads."""
        for key in sorted(set(table) - known):
            self.problem(where + named(key), "unknown key.", f"Known here: {', '.join(sorted(known))}.")

    def number(self, table: dict[str, Any], key: str, where: str, default: float | None = None) -> float | None:
        """Return the number of a key or its default; None, with a problem noted, where it is no number."""
        value = table.get(key, default)
        if value is None:
            self.problem(where + key, "missing.", "Write a number.")
            return None
        found = finite(value)
        if found is None:
            self.problem(where + key, f"{shown(value)} is not a number.", "Write a number without a unit.")
        return found

    def text(self, table: dict[str, Any], key: str, where: str, default: str | None) -> str | None:
        """Return the line of text of a key; its default, with a problem noted, where it is none."""
        value = table.get(key, default)
        wrong = None if value is None else not_a_line(value)
        if wrong:
            self.problems.append(f"{where}{key}: {wrong}")
            return default
        return value


def parse_plan(text: str, source: str) -> Plan:
    """Return the plan written in TOML.

    Parameters
    ----------
    text
        The TOML (keys title, unit, and a list of step: rate, to, hold_min, purpose, tell).
    source
        What to call it in messages, usually the file's name.

    Raises
    ------
    BadInput
        Naming every key that is wrong, its value and the remedy.
    """
    table = read_toml(text, source, "Compare it with the plan in docs/commands.md.")
    reader = _Reader(source)
    reader.unknown_keys({key: table[key] for key in table if key != "keyed_in"}, _PLAN_KEYS, "")
    title = reader.text(table, "title", "", None)
    if not (title and title.strip()) and "title" not in {p.split(":")[0] for p in reader.problems}:
        reader.problem("title", "missing.", 'Write title = "…".')
    unit = table.get("unit")
    if unit not in ("C", "F"):
        what = "missing." if unit is None else f"{shown(unit)} is not a unit."
        reader.problem("unit", what, 'Write unit = "C" or unit = "F".')
        unit = "C"
    steps = _steps(reader, table.get("step"), unit)
    keyed_in = read_keyed_in(table["keyed_in"], len(steps)) if "keyed_in" in table else None
    if "keyed_in" in table and keyed_in is None:
        reader.problem("keyed_in", f"{shown(table['keyed_in'])} can't be read.",
                       "Leave it out: Lehrling writes it where lines are keyed in during a firing.")
    if reader.problems:
        raise BadInput(source, "\n  ".join(["this plan can't be used:", *reader.problems]))
    return Plan(title=title or "", unit="F" if unit == "F" else "C", steps=steps, keyed_in=keyed_in)


def _steps(reader: _Reader, rows: Any, unit: str) -> tuple[Step, ...]:
    """Return the steps of the plan's table ``step``; those with a problem are left out, and told to the reader."""
    if not isinstance(rows, list) or not rows:
        reader.problem("step", "the plan has no step.", "Write at least one [[step]] with rate and to.")
        return ()
    if len(rows) > MAX_STEPS:
        reader.problem("step", f"the plan has {len(rows)} steps.", f"Write at most {MAX_STEPS}.")
        return ()
    found = []
    for number, row in enumerate(rows, start=1):
        where = f"step {number}: "
        if not isinstance(row, dict):
            reader.problem(f"step {number}", f"{shown(row)} is not a step.", "Write [[step]] above its lines.")
            continue
        reader.unknown_keys(row, _STEP_KEYS, where)
        found.append(_step(reader, row, where, unit))
    return tuple(step for step in found if step is not None)


def _step(reader: _Reader, row: dict[str, Any], where: str, unit: str) -> Step | None:
    """Return one step in °C; None where its target or its hold can't be read."""
    rate = _rate(reader, row, where, unit)
    to = reader.number(row, "to", where)
    hold_min = reader.number(row, "hold_min", where, default=0.0)
    if to is not None and not MIN_TARGET_C <= in_c(to, unit) <= MAX_TARGET_C:
        low, high = to_unit(MIN_TARGET_C, unit), to_unit(MAX_TARGET_C, unit)
        reader.problem(where + "to", f"{to:.12g} °{unit} is outside {low:g} to {high:g} °{unit}.",
                       "Check the figure and the unit.")
    if hold_min is not None and not 0 <= hold_min <= MAX_HOLD_MIN:
        reader.problem(where + "hold_min", f"{hold_min:.12g} min is outside 0 to {MAX_HOLD_MIN:g} min.",
                       "Write the hold in minutes.")
    purpose = row.get("purpose")
    if purpose is not None and purpose not in PURPOSES:
        reader.problem(where + "purpose", f"{shown(purpose)} is unknown.", f"Known: {', '.join(PURPOSES)}.")
    tell = reader.text(row, "tell", where, None) or None
    if to is None or hold_min is None:
        return None
    return Step(rate_c_per_h=rate, to_c=in_c(to, unit), hold_s=hold_min * 60, purpose=purpose, tell=tell)


def _rate(reader: _Reader, row: dict[str, Any], where: str, unit: str) -> float | None:
    """Return the rate of a step [°C/h]; None where it is free or can't be read."""
    if row.get("rate") == "free":
        return None
    if isinstance(row.get("rate"), str):
        reader.problem(where + "rate", f"{shown(row['rate'])} is not a rate.",
                       'Write degrees per hour as a number, or "free".')
        return None
    rate = reader.number(row, "rate", where)
    if rate is None:
        return None
    rate_c = rate * 5 / 9 if unit == "F" else rate
    if rate_c <= 0:
        reader.problem(where + "rate", f"{rate:.12g} °{unit}/h is not above 0.",
                       'Write rates without a sign, falling ones too; "free" for as fast as it goes.')
    elif rate_c < MIN_RATE_C_PER_H:
        reader.problem(where + "rate", f"{rate:.12g} °{unit}/h is slower than any firing.",
                       "Write degrees per hour, not per minute or second.")
    elif rate_c > MAX_RATE_C_PER_H:
        reader.problem(where + "rate", f"{rate:.12g} °{unit}/h is faster than a kiln goes.", 'Write rate = "free".')
    return rate_c


def write_plan(plan: Plan) -> str:
    """Return the plan as TOML in its own unit; parse_plan reads the same plan back."""
    lines = [f"title = {_quoted(plan.title)}", f'unit = "{plan.unit}"']
    if plan.keyed_in is not None:
        at_s, first, made_up, left = plan.keyed_in
        known = "" if left is None else f", left = {left}"
        lines.append(f"keyed_in = {{ at_s = {_figure(at_s)}, step = {first}, made_up = {list(made_up)}{known} }}")
    for step in plan.steps:
        rate = '"free"' if step.rate_c_per_h is None else _figure(rate_to_unit(step.rate_c_per_h, plan.unit))
        lines += ["", "[[step]]", f"rate = {rate}", f"to = {_figure(to_unit(step.to_c, plan.unit))}"]
        if step.hold_s:
            lines.append(f"hold_min = {_figure(step.hold_s / 60)}")
        if step.purpose:
            lines.append(f'purpose = "{step.purpose}"')
        if step.tell:
            lines.append(f"tell = {_quoted(step.tell)}")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """Return a text as a TOML string."""
    # A JSON string is a TOML basic string, but for DEL, which TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _figure(value: float) -> str:
    """Return a number without the rounding errors of a conversion between units."""
    return f"{round(value, 6):.12g}"
