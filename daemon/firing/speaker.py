"""Who puts findings into words: the owner's unit, the controller's unit, the load, and the lines that mend a firing.

What each kind of alert says stands in its own file in daemon/firing/watches. The advice is common practice of the
trade. Every text that asks for an act carries one of the cautions below, once, at its end; none of it makes the
program a safety device.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from daemon.firing.events import IfNotKeyed, Line, Text
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.recovery.recovery import PAST_MENDING_C, Mender, Mending, Place
from daemon.firing.recovery.recovery_text import KEY_IN, key_in, key_in_stopped
from daemon.firing.situation.by_the_clock import ByClock
from daemon.firing.units import Units

ELECTRIC = "Smoke or a burning smell? Stay out, call the fire service. Heat-resistant gloves, dry hands."
CLOSED = "Keep the kiln closed, never open it hot to look. " + ELECTRIC
STAYS_CLOSED = "Keep the kiln closed. " + ELECTRIC
"""Said where an act says already how to shut a lid."""
CLOSE_LID = "Gloves on. Close it from outside, never reach in: with the lid open the elements may still be live."
"""How to close a lid, a vent or a peephole; said beside ELECTRIC."""
STOP_THEN_CLOSE = ("Lid open? Stop the controller first: at full power cold glass cracks. Then close it from "
                   "outside, never reach in: elements may be live.")
"""How to shut a lid over glass that is cold already."""
AFTER_LID = ("Lid shut? Read the kiln's own display. Steady? Leave it. Falls, or dark? Switch off at the isolator, "
             "the kiln's main switch.")
"""What comes after the lines to key in, over glass that is cold already."""
DISPLAY_FIRST = "Read the kiln's own display. Still in that step? Leave it: perhaps Lehrling's sensor moved."
"""What comes first where Lehrling reads a fall: its own sensor may have moved."""
FALLS_THERE = "Does it fall? Shut an open lid from outside, never reach in."
"""What comes before the lines to key in, where Lehrling reads a fall."""
ISOLATOR = ("Switch off now at the isolator, the kiln's main switch. The controller's stop key may not do it: its "
            "own switch can stick.")
ISOLATOR_OFF = "Switch the isolator, the kiln's main switch, off until morning."
"""What to do where there is no power, or nobody can tell."""
NO_POWER = f"Dark? No climb? Unsure? {ISOLATOR_OFF} A tripped breaker stays off: an electrician first."
"""What to do where the lines can't be keyed in, or don't help."""
LEAVE_IT = "Leave the controller as it is."
"""What who can't key lines in does where a kiln without power would fall faster than it does now."""
CLIMBS_ON = "Does it climb on though you stopped it? Switch off at the isolator, the kiln's main switch."
ISOLATOR_UNLESS = ("Switch off at the isolator, the kiln's main switch, unless the controller shows a climb of its "
                   "own and the kiln stops when you stop it there. A controller's switch can stick.")
"""For a climb that a program may be behind."""
ANNEAL_LATER = "The glass still needs its anneal: another day, once a licensed electrician has looked at the kiln."
"""Said after a runaway: no lines stand beside the isolator, or somebody keys them in at a kiln that is not safe."""
OWN_DISPLAY = "Read the kiln's own display. Believe that one, not Lehrling."
"""What to do while Lehrling cannot be believed."""
SENSOR_OUTSIDE = "Look at the sensor's plug and wires, outside the kiln only. Don't touch the sensor in a hot kiln."
NOT_WATCHED = "Nothing watches the firing until the readings are back."


@dataclass(frozen=True, slots=True)
class Undone:
    """A planned part that was not done, and where the kiln is now."""

    index: int
    """The part's, from 0 (see daemon.firing.plan.schedule)."""
    held_s: float
    """How much of it was held, where it is a hold [s]."""
    here_c: float
    """Where the kiln is now, as its controller reads [°C]."""


@dataclass(frozen=True, slots=True)
class KeyIn:
    """The act of keying in, and its lines; without lines only an act."""

    act: str
    lines: tuple[Line, ...] = ()
    is_for_later: bool = False
    """Whether they are for another day."""
    from_c: float | None = None
    """Where the kiln is when the first of them is keyed in [°C]; None where that is not known."""

    def after(self, words: str) -> KeyIn:
        """Return the same with ``words`` before the act, in one paragraph with it."""
        return replace(self, act=f"{words} {self.act}")


class Speaker(Units):
    """Formats figures and gives the lines to key in, for one load in the unit its owner reads.

    Parameters
    ----------
    unit
        "C" or "F".
    thickness_mm
        Thickest piece of the load [mm].
    mender
        Knows what to key in when the firing broke off; None where there is no plan to go back to.
    key_unit
        The unit of the kiln's controller, "C" or "F"; as ``unit`` where empty.
    """

    def __init__(self, unit: str, thickness_mm: float, mender: Mender | None = None, key_unit: str = "") -> None:
        super().__init__(unit)
        self.thickness_mm = thickness_mm
        self.key_unit = key_unit or unit
        self._mender = mender

    @property
    def anneal_again_below_c(self) -> float | None:
        """Return below what the anneal has to be done again after a fast fall [°C]; None where not known."""
        return None if self._mender is None else self._mender.strain_point_c

    def text(self, what: str, meaning: str, acts: Sequence[str | KeyIn], *, head: str,
             if_not_keyed: IfNotKeyed = IfNotKeyed.NOTHING, caution: str = "",
             time_left_s: float | None = None) -> Text:
        """Return a text with its acts and lines in order.

        Parameters
        ----------
        what, meaning, head, caution, time_left_s
            As Text has them.
        acts
            At most three, one of them with lines to key in at the most.
        if_not_keyed
            What to do for who can't key them in; without lines for now it says nothing.
        """
        said = [act if isinstance(act, KeyIn) else KeyIn(act) for act in acts]
        at, keys = next(((number, act) for number, act in enumerate(said) if act.lines), (None, KeyIn("")))
        keyed = Units(self.key_unit).keyed(keys.lines)
        do = [f"{act.act} {keyed}." if number == at else act.act for number, act in enumerate(said)]
        is_for_later = any(act.is_for_later for act in said)
        is_for_now = bool(keys.lines) and not is_for_later
        return Text(
            what, meaning, " ".join([*do, caution]).strip(), time_left_s, head=head,
            acts=tuple(act.act for act in said), lines=keys.lines, lines_after=at, keyed_from_c=keys.from_c,
            is_for_later=is_for_later, if_not_keyed=if_not_keyed if is_for_now else IfNotKeyed.NOTHING,
            caution=caution, unit=self.unit,
            key_unit=self.key_unit)

    def mending(self, undone: Undone | None, from_c: float | None = None, fell_k: float = 0.0) -> Mending | None:
        """Return what mends a firing that broke off in ``undone``; None where that is not known.

        Parameters
        ----------
        undone
            What was not done.
        from_c
            Where it broke off [°C].
        fell_k
            How far the kiln is above the lowest it has been since [K].
        """
        if self._mender is None or undone is None:
            return None
        return self._mender.mend(undone.index, undone.held_s, undone.here_c,
                                 lowest_c=undone.here_c - max(0.0, fell_k), from_c=from_c)

    def key_in(self, mending: Mending | None) -> KeyIn:
        """Return what to key in, now or another day."""
        if mending is None:
            return KeyIn(f"Look which step the controller runs. Not the one the firing was in? Stop it and start the "
                         f"right step. {self._slowly()}")
        return self._keys(mending, key_in(mending, Units(self.key_unit).temp))

    def key_in_stopped(self, mending: Mending) -> KeyIn:
        """Return the same for a controller that an act before it has stopped."""
        return self._keys(mending, key_in_stopped(mending, Units(self.key_unit).temp))

    def key_in_after_lid(self, undone: Undone | None, from_c: float) -> KeyIn:
        """Return what to key in over cold glass once the lid is shut; the controller is stopped by then."""
        mending = self.mending(undone, from_c)
        if mending is None:
            return KeyIn("Reheat slowly, or leave it off and closed until it is cold.")
        return self.key_in_stopped(mending)

    def _keys(self, mending: Mending, act: str) -> KeyIn:
        """Return ``act`` with the lines of a mending, where it has any to key in."""
        lines = () if mending.place is Place.LATE else mending.lines
        is_for_later = mending.place is Place.COLD
        return KeyIn(act, lines, is_for_later, ASSUMED_ROOM_C if is_for_later else mending.here_c)

    def back_to_anneal(self, here_c: float, when: str) -> KeyIn:
        """Return how to go back to the anneal from ``here_c`` [°C]; ``when`` that is needed begins the sentence."""
        if self._mender is None:
            return KeyIn(f"{when} go back to the anneal hold, whole.")
        return KeyIn(f"{when} stop the controller. {KEY_IN}", self._mender.anneal_lines(here_c),
                     from_c=here_c)

    def to_anneal(self, here_c: float) -> KeyIn:
        """Return how to end a firing at ``here_c`` [°C]: to the anneal, held whole, and the planned cooling."""
        if self._mender is None:
            return KeyIn("Go on to the anneal step.")
        return KeyIn(f"Go on to the anneal step. Or stop the controller. {KEY_IN}", self._mender.anneal_lines(here_c),
                     from_c=here_c)

    def display_tells(self, clock: ByClock | None = None, *, is_lid_told: bool = False) -> str:
        """Return what the kiln's own display means for the night.

        Parameters
        ----------
        clock
            Where the plan should be now, where that is known.
        is_lid_told
            Whether an act before it says already how to shut the lid.
        """
        near = "Is it near its plan there?"
        if clock is not None:
            near = f"By its clock the plan is at {self.about(clock.low_c, clock.high_c)} now. Is it near that there?"
        lid = "The lid is open: reheat slowly." if is_lid_told else (
            "Stop the controller, close the lid from outside, never reach in, reheat slowly.")
        return (f"{near} The firing goes on; look again every half hour. Is it far above it, steady or climbing? "
                f"Switch off at the isolator, the kiln's main switch. Is it far below and steady? {lid} "
                "Is it falling, or dark? No power: leave it closed.")

    def _slowly(self) -> str:
        """Return how fast brittle glass may climb, in the unit of the controller."""
        if self._mender is None:
            return "Climb slowly: cool glass is brittle."
        words = Units(self.key_unit)
        return (f"Below {words.temp(self._mender.brittle_c)} climb no faster than "
                f"{words.rate(self._mender.refire_c_per_h)}: the glass is brittle there.")


def to_save_s(mending: Mending | None, anneal_c: float | None, temp_c: float, fall_c_per_h: float) -> float | None:
    """Return how long the anneal can still be saved as it is, then how long it can be saved at all tonight [s].

    A climb that broke off loses nothing by waiting, and an anneal that is done needs nothing more.
    """
    if anneal_c is None or mending is None or mending.place in (Place.CLIMB, Place.LATE, Place.COLD):
        return None
    return until_s(anneal_c if temp_c > anneal_c else PAST_MENDING_C, temp_c, fall_c_per_h)


def until_s(to_c: float | None, temp_c: float, fall_c_per_h: float) -> float | None:
    """Return how long the fall from ``temp_c`` to ``to_c`` takes [s]; None where it is not above it."""
    if not to_c or temp_c <= to_c:
        return None
    return (temp_c - to_c) / max(fall_c_per_h, 1.0) * 3600
