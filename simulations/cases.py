"""One firing to be judged: plan, kiln, what happens in it, and what a watcher must say of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Protocol

from daemon.firing.events import Said, Sample, Saying
from daemon.firing.plan.plan import Plan
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from simulations.faults import parse_all
from simulations.firing import Simulated, simulate
from simulations.noise import NOISE_K, WANDER_K
from simulations.plant.builds import PRESETS, Build
from simulations.plant.surroundings import Surroundings

STORED_SHARE = 0.536
"""The median of five normal readings has this share of the deviation of one.
[source: David & Nagaraja, Order Statistics]"""
LONGEST_S = 72 * 3600.0
"""A firing of a study ends here in any case [s]. [chosen: longer than the longest casting]"""


@dataclass(frozen=True, slots=True)
class Expected:
    """One thing a watcher must say.

    Attributes
    ----------
    kinds
        Names that are right, the best first.
    rank
        "log", "look" or "wake": the rank it must reach; what is only to be noted must go no higher.
    fault
        The fault whose true onset starts the clock.
    near
        Names that count as found, though they are not the right ones.
    onset
        A name in simulations.studies.onsets: from which moment of the fault the clock runs.
    within_s
        Later than this after the onset it counts as missed [s].
    wake_after_s
        The rank of wake is not due before so long after the onset [s].
    is_wake_fine
        Where a look is asked for, a wake later on is no fault (a stall that lasts, say).
    follows_step
        The rank is "look" instead where the glass truly relaxes in this step's hold (see
        simulations.studies.consequences).
    """

    kinds: tuple[str, ...]
    rank: str
    fault: str
    near: tuple[str, ...] = ()
    onset: str = "fault"
    within_s: float = 3600.0
    wake_after_s: float = 0.0
    is_wake_fine: bool = False
    follows_step: int | None = None


class HasName(Protocol):
    """A kiln, of which only the name is asked."""

    @property
    def name(self) -> str:
        """Return what it is called."""


class ToJudge(Protocol):
    """What a study needs of a firing, whichever plant fires it; Case says what each means."""

    @property
    def name(self) -> str:
        """Return what runs it again."""

    @property
    def row(self) -> str:
        """Return its line in the study's table."""

    @property
    def plan(self) -> Plan:
        """Return what the maker chose."""

    @property
    def keyed(self) -> Plan | None:
        """Return what the controller was given instead."""

    @property
    def glass(self) -> str:
        """Return the name of its glass."""

    @property
    def thickness_mm(self) -> float:
        """Return the thickness of the glass [mm]."""

    @property
    def kiln(self) -> HasName:
        """Return which kiln."""

    @property
    def faults(self) -> tuple[str, ...]:
        """Return what goes wrong, to be read."""

    @property
    def habits(self) -> tuple[str, ...]:
        """Return what goes on without being wrong, to be read."""

    @property
    def expected(self) -> tuple[Expected, ...]:
        """Return what a watcher must say."""

    @property
    def offset_k(self) -> float:
        """Return how much too high the probe reads [K]."""

    @property
    def is_offset_known(self) -> bool:
        """Return whether the owner has told it."""

    @property
    def is_on_off(self) -> bool:
        """Return whether the controller only switches, with hysteresis."""

    @property
    def setup(self) -> Setup:
        """Return what Lehrling is told."""

    def fire(self) -> Simulated:
        """Return readings and truth."""

    def entries(self, fired: Simulated) -> list[Sample | Said]:
        """Return what the decision is given."""

    def labelled(self, fired: Simulated) -> ToJudge:
        """Return it with what must be said, which may follow from what truly happened."""


@dataclass(frozen=True, slots=True)
class Case:
    """A firing of the bench with everything that makes it this one.

    Attributes
    ----------
    name
        What ``python -m simulations case`` takes to run it again.
    row
        Which line of the study's table it belongs to.
    plan
        What the maker chose in Lehrling.
    glass, thickness_mm
        What lies in the kiln: a name in daemon.glass.materials.FAMILIES, and its thickness [mm].
    kiln
        Which kiln.
    keyed
        What the controller was given instead, where that is something else.
    faults
        What goes wrong, as spelt (see simulations.faults).
    habits
        What the maker and the kiln do without anything being wrong, spelt alike: vents, peeks, minutes added.
    says
        What the maker says, as (saying, spelling of the habit or fault it follows by a minute).
    expected
        What a watcher must say.
    seed
        The same seed gives the same firing.
    start_s
        When the controller is started [s from the start press].
    offset_k
        Our probe reads this much too high [K].
    noise_k, wander_k
        White noise of one second's reading, and slow wander, standard deviations [K].
    is_offset_known
        Whether the owner has told Lehrling the probe's offset.
    interval_s
        Seconds between readings.
    kind
        Type of our thermocouple.
    around
        Room, mains, load, controller and probe.
    shelf
        The other plans that are written down, of which the controller may run one.
    """

    name: str
    row: str
    plan: Plan
    glass: str = "90"
    thickness_mm: float = 6.0
    kiln: Build = PRESETS["top-loader"]
    keyed: Plan | None = None
    faults: tuple[str, ...] = ()
    habits: tuple[str, ...] = ()
    says: tuple[tuple[Saying, str], ...] = ()
    expected: tuple[Expected, ...] = ()
    seed: int = 1
    start_s: float = 120.0
    offset_k: float = 0.0
    is_offset_known: bool = False
    noise_k: float = NOISE_K
    wander_k: float = WANDER_K
    interval_s: int = 5
    kind: str = "K"
    around: Surroundings = field(default_factory=Surroundings)
    shelf: tuple[Plan, ...] = ()

    @property
    def is_on_off(self) -> bool:
        """Return whether the controller only switches, with hysteresis."""
        return self.around.tuning.hysteresis_k > 0

    @property
    def setup(self) -> Setup:
        """Return what Lehrling is told of it."""
        return Setup(
            self.plan, FAMILIES[self.glass], self.thickness_mm,
            offset_k=self.offset_k if self.is_offset_known else None, unit=self.plan.unit, others=self.shelf,
        )

    def fire(self) -> Simulated:
        """Return its readings and its truth."""
        return simulate(
            self.keyed or self.plan, self.kiln, parse_all((*self.faults, *self.habits)), self.seed,
            start_s=self.start_s, offset_k=self.offset_k, noise_k=self.noise_k, wander_k=self.wander_k,
            around=self.around, kind=self.kind, interval_s=self.interval_s, longest_s=LONGEST_S,
        )

    def entries(self, fired: Simulated) -> list[Sample | Said]:
        """Return what the decision is given: the readings, and what the maker says among them."""
        said = []
        for saying, spec in self.says:
            name = parse_all([spec])[0].name
            said += [Said(h.at_s + 60.0, saying) for h in fired.truth.faults if h.name == name][:1]
        return sorted([*fired.samples, *said], key=lambda entry: entry.t_s) if said else list(fired.samples)

    def labelled(self, fired: Simulated) -> Case:
        """Return it as it is: what must be said is written beside what goes wrong."""
        return self

    def named(self, name: str) -> Case:
        """Return it under another name."""
        return replace(self, name=name)
