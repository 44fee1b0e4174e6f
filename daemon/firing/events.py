"""What goes into the decision and what comes out of it: plain values, no behaviour."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal, NamedTuple

FAULTS = ("open", "short", "range", "silent")
"""The words a trace may give for a reading without a temperature."""


class Sample(NamedTuple):
    """One stored reading, the median of the second-by-second ones of its five seconds.

    A named tuple rather than a dataclass because a day has 17,280 of them.
    """

    t_s: float
    """Seconds since the maker pressed start (or the firing opened itself)."""
    temp_c: float | None
    """Temperature [°C]; None where there is none, with ``fault`` saying why."""
    fault: str | None = None
    """One of FAULTS, or None."""
    low_c: float | None = None
    """Lowest of the second-by-second readings [°C], where known."""
    high_c: float | None = None
    """Highest of the second-by-second readings [°C], where known."""


class Saying(StrEnum):
    """What a maker can tell the apprentice about a firing while it runs."""

    ACKNOWLEDGE = "acknowledge"
    QUIET = "quiet"
    VENTED = "vented"
    LENGTHENED = "lengthened"
    ADVANCED = "advanced"
    PEEKED = "peeked"
    PROBE_OUT = "probe-out"
    PROBE_BACK = "probe-back"
    OWN_DISPLAY = "own-display"
    """I watch the kiln's own display: blindness wakes nobody for the rest of this firing."""
    OWN_DISPLAY_OFF = "own-display-off"
    KEYED_IN = "keyed-in"
    """I keyed these lines in: they are the plan from here."""
    CALL = "call"
    CALL_OFF = "call-off"


LONGEST_QUIET_S = 1800.0
"""The longest quiet about an alert that is granted at once [s]; what the page's button asks for.
[chosen: nobody misses the next step of a firing in half an hour]"""


class Said(NamedTuple):
    """Something the maker said, at the firing second it was taken."""

    t_s: float
    what: Saying
    alert_no: int | None = None
    """Which alert an acknowledgement or a quiet spell is for; None is all that stand."""
    for_s: float | None = None
    """Length of a quiet spell [s]."""
    temp_c: float | None = None
    """Where to be called [°C]."""


class Call(NamedTuple):
    """A temperature at which the maker wants to be called."""

    temp_c: float
    rising: bool
    """Whether the kiln climbs to it; else it falls to it."""


class Rank(StrEnum):
    """How loudly: wake now, look when up, or just noted."""

    LOG = "log"
    LOOK = "look"
    WAKE = "wake"

    @property
    def height(self) -> int:
        """Return 0, 1 or 2, so that ranks can be compared."""
        return _HEIGHTS[self]


_HEIGHTS = {Rank.LOG: 0, Rank.LOOK: 1, Rank.WAKE: 2}
"""The order of the ranks. [chosen: only the order counts]"""


class Line(NamedTuple):
    """One line to key in: how fast [°C/h; None is as fast as it goes], where to [°C], how long to stay [s]."""

    rate_c_per_h: float | None
    to_c: float
    hold_s: float = 0.0


class IfNotKeyed(StrEnum):
    """What who can't key the lines of a text in is to do; the value is that of the JSON and of the store."""

    NOTHING = "nothing"
    """Nothing more: the acts say it already, or there are no lines for now."""
    LEAVE = "leave"
    """Leave the controller as it is."""
    ISOLATOR = "isolator"
    """Switch off at the isolator: the controller would fire the piece anew."""


@dataclass(frozen=True, slots=True)
class Text:
    """What an alert says, in one unit.

    ``what``, ``meaning``, ``do`` and ``time_left_s`` say all of it. The rest is the same in pieces, for a page that
    sets acts and lines as lists; it is empty in what an earlier version stored.
    """

    what: str
    """What happened. The first sentence is what a locked phone shows."""
    meaning: str
    """What it means for this load."""
    do: str
    """What to do, with its caution."""
    time_left_s: float | None = None
    """How long there is [s]; None where it cannot be said."""
    before_s: float | None = None
    """Until when it has to be done [s of firing]; None where it cannot be said."""
    head: str = ""
    """What happened, without the present temperature, for where that stands beside it."""
    acts: tuple[str, ...] = ()
    """What to do, at most three acts."""
    lines: tuple[Line, ...] = ()
    """The lines to key in."""
    lines_after: int | None = None
    """Which of ``acts`` the lines follow, counted from 0; None where there are no lines."""
    keyed_from_c: float | None = None
    """Where the kiln is when the first line is keyed in [°C]; None where that is not known."""
    is_for_later: bool = False
    """Whether the lines are for another day."""
    if_not_keyed: IfNotKeyed = IfNotKeyed.NOTHING
    """What to do for who can't key them in."""
    caution: str = ""
    unit: str = ""
    """The unit it is written in, "C" or "F"; empty where not known."""
    key_unit: str = ""
    """The unit of the kiln's controller, in which the lines stand."""
    other: Text | None = None
    """The same in the other unit, for who reads that."""

    def in_unit(self, unit: str) -> Text:
        """Return the text in ``unit`` where it is known in it; else as it is."""
        return self.other if self.other is not None and self.other.unit == unit else self


@dataclass(frozen=True, slots=True)
class Alert:
    """One alert as it stands; ``no`` counts from 1 within its firing."""

    no: int
    kind: str
    rank: Rank
    """The highest rank reached."""
    since_s: float
    """When the trouble began, as well as the trace tells."""
    raised_s: float
    text: Text
    woke_s: float | None = None
    cleared_s: float | None = None
    acknowledged_s: float | None = None
    step: int | None = None
    named: tuple[tuple[float, str], ...] = ()
    """The names it had before a sharper one, as (second, kind)."""
    under: str | None = None
    """The kind of the alert this one is a consequence of."""
    quiet_until_s: float | None = None
    """Until when it was made quiet or acknowledged; None where it may sound."""
    seen_s: float | None = None
    """When it was last seen [s], where it was looked for since and not seen; None else, and in what is stored."""


Change = Literal["raised", "woke", "sharpened", "resounded", "acknowledged", "quieted", "over"]


@dataclass(frozen=True, slots=True)
class AlertChanged:
    """A change of an alert's state; stored before anything is sent."""

    t_s: float
    change: Change
    alert: Alert
    before: Rank | None = None
    """The rank it had before this step; None when it was raised."""
    silent: bool = False
    """Whether it is only shown on the page: the same was sent a moment ago, or too much was."""


@dataclass(frozen=True, slots=True)
class Part:
    """A ramp or a hold of the plan as the kiln really ran it.

    ``index`` counts the parts of the planned firing from 0 (see daemon.firing.plan.schedule); a restarted part
    appears again later with the same index.
    """

    index: int
    step: int
    part: Literal["ramp", "hold"]
    start_s: float
    end_s: float | None = None
    """None while the kiln is still in it."""
    rate_c_per_h: float | None = None
    mean_c: float | None = None


@dataclass(frozen=True, slots=True)
class PartsRevised:
    """The parts the kiln has run and is in, as they are known now; later revisions replace earlier ones."""

    t_s: float
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Milestone:
    """A good thing worth telling: top reached, anneal hold begun, may be opened."""

    t_s: float
    name: str
    text: str
    step: int | None = None
    temp_c: float | None = None
    """The temperature that the text names [°C]; None where it names none."""


Event = AlertChanged | PartsRevised | Milestone
