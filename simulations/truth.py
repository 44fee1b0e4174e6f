"""What really happened in a simulated firing, which no watcher is told."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field, replace
from math import inf
from typing import Any

from simulations.marks import bend_s, is_unmarked
from simulations.plant.mishaps import Happened
from simulations.plant.plant import Plant
from simulations.plant.slab import through

J_PER_KWH = 3.6e6
"""Of energy [J/kWh]. [derived: 1000 W for 3600 s]"""
NEAR_ROOM_S = 1800.0
"""A first ramp's beginning is looked for from so long before it [s]. [chosen: only a bound for the search]"""


@dataclass(frozen=True, slots=True)
class TruePart:
    """A ramp or hold as the controller really ran it [s from the start press].

    Attributes
    ----------
    step, part
        Which segment, counted from 1, and "ramp" or "hold".
    start_s, end_s
        When the controller began and ended it; None where it was never ended.
    bend_s
        When its beginning shows in the watched curve, where that is clear: before or after ``start_s``;
        infinite where it leaves no mark at all.
    """

    step: int
    part: str
    start_s: float
    end_s: float | None
    bend_s: float | None = None

    def off_s(self, found_s: float) -> float:
        """Return how far a time that was found for its beginning is from right [s].

        Any time between the controller's own and the one at which it shows is right.
        """
        bend_s = self.start_s if self.bend_s is None else self.bend_s
        return max(0.0, min(self.start_s, bend_s) - found_s, found_s - max(self.start_s, bend_s))


@dataclass(frozen=True, slots=True)
class Truth:
    """What really happened in a simulated firing.

    Attributes
    ----------
    parts
        The controller's ramps and holds, skipped ones left out and restarted ones repeated.
    faults
        What went wrong, from when to when.
    start_s
        When the controller started [s from the start press].
    glass_c, air_c
        Temperature of the glass and of the air in the kiln [°C], one for each sample.
    probe_c
        What our probe would show without any noise [°C], likewise; None where nothing can be shown.
    times_s
        The samples' seconds.
    used_kwh
        Electrical energy that the elements took from second 0 to the last sample [kWh].
    """

    parts: tuple[TruePart, ...]
    faults: tuple[Happened, ...]
    start_s: float
    glass_c: tuple[float, ...]
    air_c: tuple[float, ...]
    probe_c: tuple[float | None, ...]
    times_s: tuple[float, ...] = ()
    used_kwh: float = 0.0

    def through(self, thickness_mm: float, faces: int = 1) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Return surface and core temperature [°C] of a piece of that thickness, one for each sample.

        Its mean is the glass's; through how many faces it takes its heat, 1 or 2, is said by ``faces``.
        """
        return through(self.times_s, self.glass_c, thickness_mm, faces) if self.times_s else ((), ())

    def rate_c_per_h(self, part: TruePart) -> float | None:
        """Return the true mean rate of the glass over a part [°C/h]; None where it lies outside the readings."""
        if part.end_s is None or not self.times_s:
            return None
        first, last = bisect_left(self.times_s, part.start_s), bisect_left(self.times_s, part.end_s)
        if last >= len(self.times_s) or self.times_s[last] <= self.times_s[first]:
            return None
        gone_s = self.times_s[last] - self.times_s[first]
        return (self.glass_c[last] - self.glass_c[first]) / gone_s * 3600

    def as_json(self) -> dict[str, Any]:
        """Return what a report shows of it, as plain values."""
        return {
            "start_s": self.start_s,
            "parts": [
                {
                    "step": p.step, "part": p.part, "start_s": p.start_s, "end_s": p.end_s,
                    "glass_rate_c_per_h": None if (rate := self.rate_c_per_h(p)) is None else round(rate, 1),
                }
                for p in self.parts
            ],
            "faults": [
                {"name": f.name, "size": f.size, "at_s": f.at_s, "until_s": f.until_s} for f in self.faults
            ],
            "peak_glass_c": round(max(self.glass_c), 2) if self.glass_c else None,
        }


@dataclass(slots=True)
class Record:
    """The truth as it is written down, one row for each sample."""

    glass_c: list[float] = field(default_factory=list)
    air_c: list[float] = field(default_factory=list)
    probe_c: list[float | None] = field(default_factory=list)
    times_s: list[float] = field(default_factory=list)
    duties: list[float] = field(default_factory=list)
    """Mean share of full power since the sample before, one for each sample."""
    _on_s: float = 0.0
    before_j: float = 0.0
    """Electrical energy taken before second 0 [J]."""

    def note(self, t_s: float, plant: Plant, offset_k: float) -> None:
        """Write down what is true at the sample of ``t_s``; our probe reads ``offset_k`` [K] too high."""
        if not self.times_s:
            self.before_j = plant.kiln.in_j
        gone_s = t_s - self.times_s[-1] if self.times_s else inf
        self.duties.append((plant.on_s - self._on_s) / gone_s)
        self._on_s = plant.on_s
        self.times_s.append(t_s)
        self.glass_c.append(plant.kiln.glass_c)
        self.air_c.append(plant.kiln.air_c)
        shown_c = plant.shown_c
        self.probe_c.append(None if shown_c is None else shown_c + offset_k)


def truth_of(plant: Plant, record: Record | None = None) -> Truth:
    """Return the truth of the firing that ``plant`` has run so far."""
    record = record or Record()
    parts = _bent(tuple(TruePart(r.step, r.part, r.start_s, r.end_s) for r in plant.ran), record)
    happened = tuple(replace(h) for h in plant.happened)
    return Truth(
        parts, happened, plant.start_s, tuple(record.glass_c), tuple(record.air_c), tuple(record.probe_c),
        tuple(record.times_s), (plant.kiln.in_j - record.before_j) / J_PER_KWH,
    )


def _bent(parts: tuple[TruePart, ...], record: Record) -> tuple[TruePart, ...]:
    """Return the parts with the times at which their beginnings show in the watched curve."""
    if not record.times_s:
        return parts
    found = []
    for n, part in enumerate(parts):
        after_s = parts[n - 1].start_s if n else part.start_s - NEAR_ROOM_S
        before_s = record.times_s[-1] if part.end_s is None else part.end_s
        shows_s = inf if is_unmarked(part.start_s, record.times_s, record.duties) else bend_s(
            record.times_s, record.probe_c, part.start_s, after_s, before_s)
        found.append(replace(part, bend_s=shows_s))
    return tuple(found)
