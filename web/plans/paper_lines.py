"""The lines of a plan on paper: steps, headings, remarks, and what nobody understands."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from web.plans.notation_line import AS_IN, NotUnderstood, Written, understand
from web.plans.notation_marks import UNREAD, Mark, marks, plain

_BULLET = re.compile(r"(?:[*•·]|-(?=\s))\s*")
_NUMBERED = re.compile(
    r"(?:(?:step|segment|seg|stage|line|no|#)\.?\s*#?(\d{1,2})(?!\d)\s*[.):-]?|\(?(\d{1,2})\s*(?:[.)](?!\d)|:(?![0-5]\d)|"
    r"\s-\s))\s*")
_TIGHT = re.compile(r"(\d{1,2})[.)](?=\d{2,})")
"""A number that stands close to its step: ``1.300 1225 30``."""
_REMARK = re.compile(r"(?:#(?!\s?\d)|//|--|\"|')")


@dataclass
class Row:
    """One line: what it was understood as, or what is wrong with it; ``said`` where it is neither."""

    number: int
    line: str
    written: Written | None = None
    wrong: str = ""
    said: str = ""


class Paper:
    """Takes the lines one by one."""

    def __init__(self, minutes_first: bool) -> None:
        self.rows: list[Row] = []
        self.units: list[tuple[int, str]] = []
        """The units that lines name, with the line's number."""
        self.heading = ""
        self._minutes_first = minutes_first
        self._hold_in_hours = False
        self._steps = 0
        self._above: float | None = 0.0
        """The highest target so far while the plan climbs; None once it has fallen."""

    def take(self, number: int, line: str) -> None:
        """Read one line that is not blank."""
        row = Row(number, line)
        self.rows.append(row)
        low = _BULLET.sub("", plain(line), count=1) if _BULLET.match(plain(line)) else plain(line)
        if _REMARK.match(low):
            row.said = f"“{line[:60]}”: a remark."
            return
        low = re.split(r"\s#|\s//", low)[0]
        low, aside = _without_asides(low)
        found = self._marks(low)
        if not any(mark.kind in ("figure", "rate", "degrees", "time") or UNREAD in mark.text for mark in found):
            self._without_figures(row, low, found)
            return
        try:
            row.written = _with_aside(understand(found, minutes_first=self._minutes_first,
                                                 hold_in_hours=self._hold_in_hours, above=self._above), aside)
        except NotUnderstood as err:
            if not self._steps and low[:1].isalpha() and any(mark.kind == "unknown" for mark in found):
                self._head(row, low)
            else:
                row.wrong = f"Line {number}: “{line[:60]}”. {err}"
            return
        target = row.written.target
        if target is not None:
            self._steps += 1
            self._above = target if self._above is not None and target >= self._above else None
        self.units += [(number, mark.unit) for mark in found if mark.unit]

    def _marks(self, low: str) -> tuple[Mark, ...]:
        """Return a line's marks without the number of its step."""
        numbered = _NUMBERED.match(low)
        if numbered:
            return marks(low[numbered.end():])
        tight = _TIGHT.match(low)
        if tight and int(tight[1]) == self._steps + 1:
            return marks(low[tight.end():])
        found = marks(low)
        bare = [mark for mark in found if mark.kind == "figure"]
        if len(bare) == _NUMBER_AND_STEP and found[0] is bare[0] and bare[0].value == self._steps + 1:
            return found[1:]
        return found

    def _without_figures(self, row: Row, low: str, found: Sequence[Mark]) -> None:
        """Note a heading, the end, or a line that nobody understands."""
        kinds = {mark.kind for mark in found}
        if not self._steps and (kinds - {"free", "to", "hold", "at", "in", "rate-word"} or not kinds):
            self._head(row, low)
        elif found and kinds <= {"off", "free"} and self._steps:
            row.said = "The end: the controller is off, and the kiln cools by itself."
        elif kinds:
            row.wrong = f"Line {row.number}: “{row.line[:60]}” is no step. {AS_IN} A remark goes behind a #."

    def _head(self, row: Row, low: str) -> None:
        """Take what a heading says: the unit, and what the columns are."""
        units = set(_UNIT_NAMED.findall(low))
        said = {"f" if name.startswith("f") else "c" for pair in units for name in pair if name}
        if len(said) == 1:
            self.units.append((row.number, said.pop().upper()))
        columns = re.match(r"(?:step\W+|no\W+|#\W*)?(minutes?|mins?|time)\b.*\b(?:to|target|temp)", low)
        self._minutes_first = self._minutes_first or columns is not None
        hours = re.search(r"(?:hold|soak|dwell)\W{0,4}(?:h|hrs?|hours?)\b(?!\s*:)", low)
        self._hold_in_hours = self._hold_in_hours or hours is not None
        self.heading = self.heading or ("" if _COLUMNS.match(low) else row.line)
        row.said = f"“{row.line[:60]}”: a heading."


_NUMBER_AND_STEP = 4
"""Bare figures of a line that begins with the number of its step. [derived: number, rate, target, hold]"""
_UNIT_NAMED = re.compile(r"°\s*([cf])\b|\b(celsius|fahrenheit|centigrade)\b|\(([cf])\)|\bdeg(?:rees?)?\.?\s*([cf])\b|"
                         r"(?:^|\s)([cf])$")
_COLUMNS = re.compile(r"(?:step|seg|segment|rate|ramp|time|min|°|no|#|units?\b|in\s+°)|[cf]$|celsius$|fahrenheit$")


def _without_asides(low: str) -> tuple[str, str]:
    """Return a line without what stands in brackets, and that, unless the brackets hold figures of the step."""
    asides = re.findall(r"\(([^()]*[a-z]{3}[^()]*)\)", low)
    if not asides or not re.search(r"\d", re.sub(r"\([^()]*\)", "", low)):
        return low, ""
    return re.sub(r"\([^()]*[a-z]{3}[^()]*\)", " ", low), " ".join(asides)


def _with_aside(written: Written, aside: str) -> Written:
    """Return a step with what its brackets say: what it is for, or a remark."""
    if not aside:
        return written
    known = [mark.text for mark in marks(aside) if mark.kind == "purpose"]
    if known and not written.purpose:
        return replace(written, purpose=known[0])
    return replace(written, remarks=(*written.remarks, f"not read: “{aside[:60]}”"))
