"""What a kind of alert is: one record that holds all that is particular to it.

A new kind is one file in daemon/firing/watches, which defines such a record, and one line in
daemon/firing/alerts/registry.py. Nothing else has a list of kinds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, StrEnum
from typing import Any, Generic, NamedTuple, Protocol, TypeVar

from daemon.firing.detection.blindness import Outage, SwappedLeads
from daemon.firing.detection.steps.step_down import Drop
from daemon.firing.events import Rank, Sample, Saying, Text
from daemon.firing.setup import Setup
from daemon.firing.situation.by_the_clock import ByClock
from daemon.firing.situation.probe_doubt import FalseReading
from daemon.firing.situation.view import Interruption, View
from daemon.firing.speaker import Speaker, Undone
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.offset import Offset

RESOUND_S = 300.0
"""A wake sounds again after so long, where its kind does not say otherwise [s].
[chosen: a wake that nobody answers repeats]"""
SAME_TROUBLE_S = 900.0
"""Two findings no further apart than this may tell of the same trouble [s].
[tuned: by trial on the bench, study not kept]"""
RISING_S = 360.0
"""A cause has risen to its rank by then; a louder consequence of a quieter cause then speaks for itself [s].
[tuned: by trial on the bench, study not kept]"""

F = TypeVar("F")
"""The facts of a kind: a frozen dataclass, or a union of them where a kind has several shapes."""


def _no_clock(lost_s: float, t_s: float) -> ByClock | None:
    """Return None: without a plan no clock tells where the kiln should be."""
    return None


def _nothing_undone(at_s: float) -> Undone | None:
    """Return None: without a plan nothing of it is undone."""
    return None


class Reading(NamedTuple):
    """A stored entry with what is known at that moment: what a watch of every reading sees."""

    sample: Sample
    """The entry, its temperature less the owner's offset."""
    trail: Trail
    """The readings so far, this one included where it has a temperature."""
    offset: Offset
    """Usual difference of probe and plan."""
    is_blindness_dangerous: bool
    """Whether blindness now can cost the piece; as of the last beat."""
    outage: Outage | SwappedLeads | None = None
    drop: Drop | None = None
    """The step down that stands; None where there is none."""
    view: View | None = None
    """The view of the beat that was made at this reading; None between beats and before the beat."""
    by_the_clock: Callable[[float, float], ByClock | None] = _no_clock
    """Where the plan is by its clock, of since when nothing is read and of the present [s]."""
    undone_at: Callable[[float], Undone | None] = _nothing_undone
    """What of the plan was left undone where it broke off at a second [s]; None where that is not known."""
    is_anneal_lost: bool = False
    """Whether the anneal was found to have ended too soon for this glass; as of the last beat."""
    is_before_top: bool = False
    """Whether the kiln still climbs and has not come near its top yet; as of the last beat."""
    too_hot_for_any: tuple[float, float] | None = None
    """Since when readings were hotter than any kiln [s], and the hottest of them [°C]; None where none was, or where
    they jumped there or back. All readings of the firing are by a false scale then."""


class ReadingWatch(Protocol):
    """Sees every reading."""

    def __call__(self, now: Reading, /) -> Finding[Any] | None:
        """Return what it finds at this reading."""


@dataclass(frozen=True, slots=True)
class OfGlass:
    """A watch of readings that knows when its glass is brittle; ``see`` is the watch.

    A checkpoint keeps a watch as a method or a plain function; it can't keep a function made for one glass.
    """

    find: Callable[[Reading, float], Finding[Any] | None]
    """What it finds at a reading, given ``brittle_c``."""
    brittle_c: float
    """Below this the glass is brittle [°C]."""

    def see(self, now: Reading) -> Finding[Any] | None:
        """Return what it finds at this reading."""
        return self.find(now, self.brittle_c)


class BeatWatch(Protocol):
    """Sees the firing as a View, at each beat; only firings with a plan have beats."""

    def __call__(self, view: View, /) -> Finding[Any] | None:
        """Return what it finds at this beat."""


class Stage(Enum):
    """When a watch of readings is asked and its kind judged."""

    ENTRY = "at every entry, with a temperature or without"
    TEMPERATURE = "at every entry with a temperature, before the beat"
    AFTER_BEAT = "at every entry with a temperature, after the beat; without a finding it is judged only on beats"

    __hash__ = object.__hash__
    """By identity: Enum's own is slow, and every reading looks its stages up."""


@dataclass(frozen=True, slots=True)
class AtReadings:
    """How a watch of every reading is made for a firing; None where the firing has no use for it."""

    stage: Stage
    make: Callable[[Setup], ReadingWatch | None]


@dataclass(frozen=True, slots=True)
class AtBeats:
    """How a watch of every beat is made for a firing; None where the firing has no use for it."""

    make: Callable[[Setup], BeatWatch | None]


class Family(StrEnum):
    """What a kind of trouble is measured against."""

    KILN = "kiln"
    """Trouble under any plan."""
    PLAN = "plan"
    """The kiln does not do what the chosen plan asks."""
    BLIND = "blind"
    """There is no temperature."""


def _always(facts: Any) -> bool:
    """Return True, whatever the facts: what a kind allows that says nothing of it."""
    return True


@dataclass(frozen=True, slots=True)
class Vaguer:
    """A kind whose alert may be given a sharper name, and until when."""

    name: str | Family
    """A kind, or every kind of a family."""
    within_s: float = SAME_TROUBLE_S
    """How long after it was raised [s]."""
    is_uncaused: bool = False
    """Whether only an alert that stands under no other is renamed."""
    below: Rank | None = None
    """The rank at which it keeps its name."""
    for_facts: Callable[[Any], bool] = _always
    """With which facts of the sharper one."""


@dataclass(frozen=True, slots=True)
class Example(Generic[F]):
    """Facts for which docs/words.md shows the text, and which the tests of words go through.

    They belong to the firing of daemon/firing/example_firing.py.
    """

    facts: F
    phase: str = ""
    """The moment of a firing they come from, as the heading in docs/words.md has it."""
    rank: Rank = Rank.WAKE


def _never(facts: Any) -> bool:
    """Return False, whatever the facts."""
    return False


def _unchanged(facts: F) -> F:
    """Return the facts as they are: most kinds are told the same until they are over."""
    return facts


def _believed(facts: Any) -> FalseReading | None:
    """Return None: most kinds tell of a kiln by readings that are true."""
    return None


def _nothing_broke_off(finding: Finding[Any], view: View) -> Interruption | None:
    """Return None: most kinds say nothing of where a firing broke off."""
    return None


@dataclass(frozen=True, eq=False, repr=False, slots=True, kw_only=True)
class Kind(Generic[F]):
    """All that is particular to one kind of alert.

    How kinds go together is said by the one that stands under another or takes its name, so that a new kind
    changes no other's file.
    """

    name: str
    title: str = ""
    """What people read in its place; the name with blanks where empty."""
    watch: AtReadings | AtBeats
    words: Callable[[Finding[F], Speaker], Text]
    examples: tuple[Example[F], ...]
    on_delay_s: float
    """How long it must be found before it is told [s]."""
    off_delay_s: float
    """How long it must not be found before it is over [s]."""
    family: Family = Family.KILN
    explained_by: tuple[Saying, ...] = ()
    """What the maker may say he did that explains it (see daemon/firing/alerts/maker_actions.py)."""

    may_stand_under: tuple[str, ...] = ()
    """Kinds it may be a consequence of: while one of them is told it does not sound by itself."""
    asked_for_by: tuple[str, ...] = ()
    """Kinds whose act, once they wake, brings this about. What begins from then on wakes nobody for as long as it is
    found, nor does what follows from it; until the kiln holds where its plan holds, or lines are keyed in."""
    is_act: Callable[[F], bool] = _always
    """Whether it is still what was asked for, with these facts."""
    explains: tuple[Family, ...] = ()
    """Families whose kinds may all stand under this one."""
    covers_looks: bool = False
    """Whether what may stand under it is not told at all while it is no more than a look: it says the same."""
    gathers: tuple[str | Family, ...] = ()
    """Kinds, or whole families, that tell one by one what this tells as a whole, once it is more than noted and may
    replace names: those that woke nobody and began within what it tells stand under it from then on, also where they
    are over."""
    rises_within_s: float = RISING_S
    """How long after it was raised its rank may still rise, so that louder consequences wait under it [s]."""

    may_replace: tuple[Vaguer, ...] = ()
    """Names that this one may take the place of."""
    may_replace_now: Callable[[F], bool] = _always
    calms: Callable[[F], bool] = _never
    """Whether, while it is found so, findings of Family.PLAN wake nobody."""

    is_of_probe: bool = False
    """Whether it tells of Lehrling's own probe, plug and wires; the page of the kiln says how the probe is."""
    may_be_probe: bool = False
    """Whether it may have been Lehrling's own probe instead, so that the probe is looked after in the morning."""
    disbelieves: Callable[[F], FalseReading | None] = _believed
    """Whether, while it is found so, the readings say nothing of the kiln, and why."""
    once_unseen: Callable[[F], F] = _unchanged
    """The facts as they are told once it is no longer found, while its alert stands for the off-delay."""
    is_of_firing: bool = False
    """Whether it tells of the firing as a whole, not of what the plan asks of one step; it is then told as well of a
    step that nobody planned (see PlannedPart.is_made_up)."""
    halts_plan: bool = False
    """Whether the plan does not go on by itself while its alert stands; nothing of it is forecast then."""
    leaves_no_whole_firing: bool = False
    """Whether a firing that it woke for counts in no figure of whole firings (see daemon/lifecycle/broke_off.py)."""
    shows_heat: bool = False
    """Whether it shows that the kiln heats, so that what may go on unseen of an earlier alert does not."""
    is_of_power: bool = False
    """Whether it tells that the kiln's power was not what it should be: such a firing shows nothing usual of it."""
    may_go_on: str = ""
    """What is said where its alert has ended and the trouble may still be there; empty where an end is an end."""
    is_past_event: bool = False
    """Whether it tells of something past, which happens once: the same one is not told again."""
    may_be_quieted: bool = True
    """Whether a quiet spell silences it; one that may not be is also never known already by an older name."""
    resound_s: float = RESOUND_S
    """How soon a wake that nobody answers sounds again [s]."""
    breaks_off: Callable[[Finding[F], View], Interruption | None] = _nothing_broke_off
    """Where the firing broke off, if that is what a finding says."""

    def __repr__(self) -> str:
        return f"<Kind {self.name}>"


@dataclass(frozen=True, slots=True)
class Finding(Generic[F]):
    """A watch sees its trouble now.

    Attributes
    ----------
    kind
        What kind of trouble.
    rank
        How loud it is at this moment.
    since_s
        When it began, as well as the trace tells [s].
    facts
        The figures its words need.
    step
        The plan's step it belongs to.
    severity_c
        A temperature that grows as it gets worse [°C]; 10 more sounds again after an acknowledgement.
    """

    kind: Kind[F]
    rank: Rank
    since_s: float
    facts: F
    step: int | None = None
    severity_c: float = 0.0
