"""One line of a plan on paper, understood: which figure is the rate, which the target, which the hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from web.plans.notation_marks import FREE_FROM, UNREAD, Mark

HOURS_BELOW = 24.0
"""A hold written with decimals and without a unit is in hours below this: nobody holds for half a minute.
[common practice]"""


@dataclass(frozen=True, slots=True)
class Written:
    """A step as it was written; figures in the plan's own unit.

    Attributes
    ----------
    target
        Where to; None where the line only lengthens the hold before it.
    rate
        Degrees an hour, unsigned; None where it is free or ``way_min`` is written instead.
    way_min
        How long it takes to the target [min].
    hold_min
        How long to stay [min].
    falls
        Whether a minus sign stands before the rate.
    free
        Whether it is written that it goes as fast as the kiln does.
    purpose
        What the step is for; empty where nothing says so.
    remarks
        What was guessed or not read, a clause each.
    """

    target: float | None = None
    rate: float | None = None
    way_min: float | None = None
    hold_min: float = 0.0
    falls: bool = False
    free: bool = False
    purpose: str = ""
    remarks: tuple[str, ...] = ()


HOLD_SHARE = 10.0
"""Of two bare figures in a climb the second is a hold where it is less than the first by this factor: a step that
ends at a tenth of its rate hardly climbs. [chosen: 1225 30 is target and hold, 300 60 rate and target]"""
_A_WHOLE_STEP = 3
"""Figures after which words that nobody understands are a remark, and not a figure that was misspelt. [chosen: rate,
target and hold]"""


class NotUnderstood(Exception):
    """A line that is no step; what is wrong with it, and the remedy."""

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(f"{what} {remedy}")


AS_IN = "Write rate, target and hold, as in 300 1225 30."


def understand(
    found: Sequence[Mark], *, minutes_first: bool = False, hold_in_hours: bool = False, above: float | None = None,
) -> Written:
    """Return what a line's marks say.

    Parameters
    ----------
    found
        The marks, at least one.
    minutes_first
        Whether a first figure without a unit is how long it takes to the target [min], not a rate.
    hold_in_hours
        Whether a hold without a unit is in hours.
    above
        The highest target so far where the plan still climbs, else None: of two bare figures, the first above it and
        the second small, the first is a target and the second a hold.

    Raises
    ------
    NotUnderstood
        Saying what was read and what to write.
    """
    slots = _Slots(minutes_first, hold_in_hours, above)
    for at, mark in enumerate(found):
        slots.take(mark, found[at + 1:])
    slots.fill()
    return slots.written()


class _Slots:
    """The places of one step, filled mark by mark: first what says its own place, then the rest in order."""

    def __init__(self, minutes_first: bool, hold_in_hours: bool, above: float | None) -> None:
        self._minutes_first = minutes_first
        self._above = above
        self._hold_in_hours = hold_in_hours
        self._named = ""
        """The place that the last word names for the next figure."""
        self._plain: list[tuple[Mark, bool]] = []
        """Figures that no word places, each with whether the target was known when it came."""
        self._at_between = False
        self._unknown: list[str] = []
        self.rate: Mark | None = None
        self.way: Mark | None = None
        self.target: Mark | None = None
        self.hold: Mark | None = None
        self.free = False
        self.purpose = ""
        self.remarks: list[str] = []

    def take(self, mark: Mark, coming: Sequence[Mark]) -> None:
        """Put one mark where it belongs; ``coming`` are those after it."""
        if self._unknown and mark.kind != "unknown":
            raise NotUnderstood(f"“{self._unknown[0]}” is not understood.", f"{AS_IN} A remark goes behind a #.")
        if UNREAD in mark.text:
            as_typed = mark.text.replace(UNREAD, ",")
            raise NotUnderstood(f"“{as_typed}” may be one figure or several.",
                                "Write blanks instead of commas, as in 300 1225 30.")
        if mark.kind == "unknown":
            self._unknown.append(mark.text)
        elif mark.kind == "free":
            self.free = True
        elif mark.kind == "purpose":
            self.purpose = mark.text
        elif mark.kind in ("to", "hold", "in", "rate-word"):
            self._named = {"to": "target", "hold": "hold", "in": "way", "rate-word": "rate"}[mark.kind]
        elif mark.kind == "at":
            self._at(coming)
        elif self._is_target_again(mark):
            pass
        elif mark.kind != "off":
            self._place(self._place_of(mark, coming), mark)

    def _at(self, coming: Sequence[Mark]) -> None:
        """Say what ``at`` or ``@`` leads to."""
        if self._named == "hold":
            return
        if self._has_rate and self.target is None and not self._plain:
            self._named = "target"
        elif self.target is not None:
            self._named = "hold" if self._has_rate or self._plain else "rate"
        elif not self._plain:
            self._named = "rate" if any(mark.kind == "to" for mark in coming) else "target"
        else:
            self._at_between = True

    def _is_target_again(self, mark: Mark) -> bool:
        """Return whether a figure only repeats where the hold is: ``300 to 1225, hold at 1225 for 30``."""
        return (self._named == "hold" and mark.kind in ("figure", "degrees") and self.target is not None
                and mark.value == self.target.value)

    @property
    def _has_rate(self) -> bool:
        return self.free or self.rate is not None or self.way is not None

    def _place_of(self, mark: Mark, coming: Sequence[Mark]) -> str:
        """Return the place of a figure; empty where nothing says it."""
        named = self._named
        if mark.kind == "rate":
            return "rate"
        if mark.kind == "degrees":
            return "target" if named != "rate" else "rate"
        if mark.kind == "time":
            if named in ("way", "hold"):
                return named
            first = self.target is None and not self._has_rate and not self._plain
            return "way" if first and any(m.kind in ("figure", "degrees") for m in coming) else "hold"
        if named == "hold" and self.target is None and not self._plain and _looks_like_target(mark, coming):
            return "target"
        return named

    def _place(self, place: str, mark: Mark) -> None:
        if not place:
            self._plain.append((mark, self.target is not None))
            return
        if getattr(self, place) is not None:
            raise NotUnderstood(f"“{mark.text}” is a second {_CALLED[place]}.", f"{AS_IN} One step a line.")
        setattr(self, place, mark)
        if not (place == "target" and self._named == "hold"):  # hold at 1225 for 30: the hold is still to come
            self._named = ""

    def fill(self) -> None:
        """Give the figures that no word placed their places, in the order of the trade."""
        if self._unknown:
            words = " ".join(self._unknown)
            said = len(self._plain) + (self.target is not None) + (self.hold is not None) + self._has_rate
            if said < _A_WHOLE_STEP:
                raise NotUnderstood(f"“{words[:40]}” is not understood.", f"{AS_IN} A remark goes behind a #.")
            self.remarks.append(f"not read: “{words[:60]}”")
        plain = [mark for mark, _ in self._plain]
        if self.target is not None:
            places = ["hold" if late else "way" if self._minutes_first else "rate" for _, late in self._plain]
        elif self._has_rate or len(plain) == 1 or self._is_target_and_hold(plain):
            places = ["target", "hold"]
        else:
            places = ["way" if self._minutes_first else "rate", "target", "hold"]
        open_places = [place for place in places if getattr(self, place) is None]
        if len(plain) > len(open_places):
            raise NotUnderstood(f"It has {len(plain)} figures of which nothing says what they are.", AS_IN)
        for place, mark in zip(open_places, plain, strict=False):
            setattr(self, place, mark)

    def _is_target_and_hold(self, plain: Sequence[Mark]) -> bool:
        """Return whether two bare figures are a target and a hold, the rate being left out."""
        if len(plain) != 2 or self._minutes_first or self.hold is not None:
            return False
        first, second = (mark.value for mark in plain)
        if self._at_between:
            return first > second
        return self._above is not None and first > self._above and second < first / HOLD_SHARE

    def written(self) -> Written:
        """Return the step that the places hold."""
        target = None if self.target is None else self.target.value
        free = self.free or (self.rate is not None and self.rate.value >= FREE_FROM)
        found = Written(target, None, None, self._hold_min(), free=free, purpose=self.purpose)
        if target is None:
            if self.hold is None or self._has_rate:
                raise NotUnderstood("It has no target temperature.", AS_IN)
        elif free:
            pass
        elif self.way is not None:
            found = replace(found, way_min=self._way_min(self.way))
        elif self.rate is not None:
            if self.rate.value <= 0:
                raise NotUnderstood(f"“{self.rate.text}” is no rate.",
                                    "Write degrees an hour, or AFAP for as fast as the kiln goes.")
            found = replace(found, rate=self.rate.value, falls=self.rate.minus)
        else:
            self.remarks.append("no rate is written")
        if self.target is not None and self.target.minus:
            raise NotUnderstood(f"“-{self.target.text}” is no target.", "Write degrees without a sign.")
        return replace(found, remarks=tuple(self.remarks))

    def _hold_min(self) -> float:
        """Return the hold [min]."""
        hold = self.hold
        if hold is None:
            return 0.0
        if hold.minus:
            raise NotUnderstood(f"“-{hold.text}” is no hold.", "Write minutes, or hours as 1:30.")
        if hold.kind == "figure" and (self._hold_in_hours or (hold.decimals and hold.value < HOURS_BELOW)):
            self.remarks.append(f"“{hold.text}” read as hours")
            return hold.value * 60
        return hold.value

    def _way_min(self, way: Mark) -> float:
        if way.value <= 0 or way.minus:
            raise NotUnderstood(f"“{'-' * way.minus}{way.text}” is no time to the target.",
                                "Write minutes, hours as 1:30, or AFAP.")
        return way.value


_CALLED = {"rate": "rate", "way": "time to the target", "target": "target", "hold": "hold"}


def _looks_like_target(mark: Mark, coming: Sequence[Mark]) -> bool:
    """Return whether the figure behind ``hold`` is a temperature, since a hold comes after it: ``hold 1225 30``."""
    return mark.kind == "figure" and any(
        m.kind in ("time", "hold") or (m.kind == "figure" and m.value < mark.value) for m in coming)
