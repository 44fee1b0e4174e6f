"""The values behind an answer: what was measured, what is asked, and how far a figure may be off, with units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature [°C]."""

    temp_c: float


@dataclass(frozen=True, slots=True)
class PlannedHold:
    """A hold as the plan asks for it."""

    temp_c: float
    duration_s: float


@dataclass(frozen=True, slots=True)
class MeasuredHold:
    """A hold as it was run, all its stretches together.

    Attributes
    ----------
    held_s
        How long, what was not seen within it included [s].
    mean_c
        Mean of its readings [°C]; None where none was read.
    offset_k
        Probe minus plan in this firing's holds [K]; subtracted before the hold is held against its plan.
    unseen_s
        How much of ``held_s`` was without a reading [s].
    """

    held_s: float
    mean_c: float | None
    offset_k: float
    unseen_s: float


@dataclass(frozen=True, slots=True)
class AlarmCount:
    """The alarms of a firing by the titles of their kinds: those that woke, and those for the morning.

    What follows from another alarm is not counted. ``was_told`` is False of a firing that was taken in from a file
    after it was over: nobody was woken by it.
    """

    woke: tuple[str, ...]
    looks: tuple[str, ...]
    was_told: bool = True


@dataclass(frozen=True, slots=True)
class CoolingRates:
    """The mean rate of each cooling step, as planned or as run [°C/h], a fall being positive.

    ``fastest_c_per_h`` is the highest measured rate among the steps that were faster than planned beyond
    tolerance; None where none was.
    """

    steps_c_per_h: tuple[float, ...]
    fastest_c_per_h: float | None = None


@dataclass(frozen=True, slots=True)
class ClimbRate:
    """The fastest climb over ten minutes [°C/h] while the glass was below ``below_c``.

    ``from_c`` is where a second climb began, of glass that had fallen below its annealing range again [°C]; None for
    the first.
    """

    rate_c_per_h: float
    below_c: float
    from_c: float | None = None


@dataclass(frozen=True, slots=True)
class ClimbLimit:
    """The climb that a thickness ordinarily bears [°C/h], by common practice; ``loose`` layers bear more."""

    rate_c_per_h: float
    thickness_mm: float
    loose: bool
    kept_to_c_per_h: float
    """Up to this the limit counts as kept: it is a rule of thumb, and no sharp line."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """What the time in the annealing range was worth.

    Attributes
    ----------
    worth_min
        As minutes at the annealing point.
    at_c
        The annealing point [°C].
    share_left
        What is left of a stress that stood before, 0 to 1.
    """

    worth_min: float
    at_c: float
    share_left: float


@dataclass(frozen=True, slots=True)
class RelaxationNeed:
    """Minutes at the annealing point to leave ``share`` of a stress, and minutes to even out piece and shelf."""

    needed_min: float
    evening_min: float
    share: float


@dataclass(frozen=True, slots=True)
class StressRange:
    """A stress in the core of one thickness, from two cooled faces to one [MPa, tension positive]."""

    low_mpa: float
    high_mpa: float
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class Tension:
    """The largest tension anywhere in one thickness [MPa], as a range, with its number of cooled faces.

    ``at_c`` is how hot the face was then, where it was the face that was pulled [°C].
    """

    low_mpa: float
    high_mpa: float
    thickness_mm: float
    faces: int
    at_c: float | None = None


@dataclass(frozen=True, slots=True)
class StressLimit:
    """The stress that is aimed at, or that glass ordinarily bears [MPa]."""

    mpa: float


@dataclass(frozen=True, slots=True)
class ProbeError:
    """How far a probe may be off [K], and how many times faster or slower the glass relaxes by that."""

    off_k: float
    times: float


@dataclass(frozen=True, slots=True)
class RelativeError:
    """By what share of itself a figure may be off: 0.2 for ± 20 %."""

    share: float
