"""What goes wrong on the bench: faults by name, each with its size, its start and its length.

The spelling is ``NAME[=FIGURES][@WHEN]``::

    cooling=2.5@step4:ramp+60s       2.5 times too fast from a minute into step 4's ramp
    cooling=2.5,30min@step4:ramp     the same, for half an hour
    open@step4:hold+10min            the thermocouple opens ten minutes into step 4's hold, for good
    open=5min@2h                     … two hours after start was pressed, for five minutes
    power-cut=120s@step3:hold        the mains is away for two minutes
    start-late=15min                 the kiln starts a quarter of an hour after start was pressed

    vent@below200            the vent is opened when the kiln has fallen to 200 °C

A figure with a unit (``s``, ``min``, ``h``) is a length, one without is a size; a fault that knows only
a length takes a bare number for seconds. WHEN is a time from the start press (``3600s``, ``2h``) or a
place in the program (``step4:hold``, ``step4:ramp+60s``; ``step4`` alone is its ramp), or a temperature the
kiln passes (``above600`` climbing, ``below200`` falling). A place counts when the controller comes there;
each fault happens once.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass


class FaultError(ValueError):
    """A fault that cannot be read; the text says what was given, what is known and what to write."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What the bench knows of one fault."""

    name: str
    meaning: str
    size: float | None = None
    """Default size; None where the fault has none."""
    size_range: tuple[float, float] = (0.0, 1e9)
    length_s: float | None = None
    """Default length [s]; None is for good."""
    takes_length: bool = True
    needs_when: bool = True
    place: str = "ramp"
    """The part a step's bare number means."""


KINDS = {
    kind.name: kind
    for kind in (
        # the controller and who keys it in
        Kind("cooling", "falling ramps run FACTOR times too fast, a vent opening where the kiln can't", 2.5,
             (0.05, 20.0)),
        Kind("heating", "climbing ramps run FACTOR times too fast", 2.0, (0.05, 20.0)),
        Kind("restart", "the mains blinks and the controller begins again at step 1", length_s=60.0),
        Kind("stuck", "the controller holds where it is and counts nothing"),
        Kind("advance", "the part that runs is left for the next, as the skip key does", takes_length=False),
        Kind("skip-hold", "the hold is left at once, or cut off where it stands", takes_length=False, place="hold"),
        Kind("hold-short", "the hold lasts only this FRACTION of what it should", 0.5, (0.0, 1.0),
             takes_length=False, place="hold"),
        Kind("hold-long", "the hold lasts this many TIMES what it should: minutes added by hand", 1.5, (1.0, 50.0),
             takes_length=False, place="hold"),
        Kind("hold-off", "the hold is kept this many DEGREES off its target, -15 is too cold", -15.0,
             (-200.0, 200.0), place="hold"),
        Kind("swing", "the hold swings this many DEGREES up and down", 8.0, (0.0, 50.0), place="hold"),
        Kind("start-late", "the kiln starts this long after start was pressed", length_s=900.0,
             needs_when=False),
        Kind("start-early", "the kiln started this long before start was pressed", length_s=900.0,
             needs_when=False),
        Kind("never-started", "the controller is never started", takes_length=False, needs_when=False),
        # the kiln and its supply
        Kind("power-cut", "the mains is away; when it is back the controller takes the step up again"),
        Kind("sag", "the elements give only this SHARE of their power: low mains, or one of them out", 0.5,
             (0.0, 1.2)),
        Kind("runaway", "the relay is welded: full power whatever the controller says"),
        Kind("lid", "the lid or door stands open", length_s=60.0),
        Kind("ajar", "the lid or door is open by this SHARE", 0.15, (0.0, 1.0)),
        Kind("vent", "a vent is open by this SHARE", 1.0, (0.0, 5.0)),
        # our own probe and its wires
        Kind("open", "the thermocouple's circuit is broken"),
        Kind("short", "a thermocouple wire touches what it should not"),
        Kind("silent", "the chip stops answering"),
        Kind("chip-stuck", "the chip begins a reading and never ends it"),
        Kind("chip-reset", "the chip loses its settings, as after a dip of its supply; seen only through the driver",
             takes_length=False),
        Kind("bad-bits", "this SHARE of the bus's answers has a wrong bit; seen only through the driver", 0.01,
             (0.0, 1.0), needs_when=False),
        Kind("frozen", "the reading stops at one value, whatever the kiln does"),
        Kind("flickers", "the contact comes and goes: lost this many times an HOUR, for seconds each", 30.0,
             (0.0, 360.0)),
        Kind("zeros", "the logger writes 0.0 for every reading of this NUMBER", 4.0, (2.0, 100.0)),
        Kind("gap", "no rows are written: a dead logger, or a clock put forward"),
        Kind("wall-short", "the wires touch inside the wall, so the probe reads what is there"),
        Kind("pulled", "the probe slides out by this SHARE within 20 min", 0.4, (0.0, 1.0)),
        Kind("fallen", "the probe drops out by this SHARE at once", 0.4, (0.0, 1.0)),
        Kind("moved", "the probe reads this many DEGREES more, as after a knock", -8.0, (-300.0, 300.0)),
        Kind("drift", "the probe's reading creeps by this many DEGREES an hour", 2.0, (-200.0, 200.0)),
        Kind("reversed", "the leads are the wrong way round", needs_when=False),
        Kind("set-to-n", "a type K probe on a chip set to N", needs_when=False),
        Kind("set-to-s", "a type K probe on a chip set to S", needs_when=False),
        Kind("n-set-to-k", "a type N probe on a chip set to K", needs_when=False),
        Kind("copper-lead", "copper wire from the probe's hot head to the box", needs_when=False),
        Kind("spikes", "this many bad readings an HOUR", 30.0, (0.0, 3000.0), needs_when=False),
        Kind("hum", "the mains rides on the reading with this many DEGREES", 2.0, (0.0, 50.0), needs_when=False),
    )
}
"""Every fault by name."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that will go wrong.

    Either ``at_s`` says when [s from the start press], or ``step``, ``part`` and ``after_s`` say where in
    the program.
    """

    name: str
    size: float | None = None
    length_s: float | None = None
    """None is for good."""
    at_s: float | None = None
    step: int | None = None
    part: str = "ramp"
    after_s: float = 0.0
    passing_c: float | None = None
    """Happens when the kiln passes this temperature [°C] ..."""
    rising: bool = True
    """... upwards, or, having been above it, downwards."""


_UNITS = {"s": 1.0, "min": 60.0, "h": 3600.0}
_FIGURE = re.compile(r"([-+]?(?:\d+(?:\.\d*)?|\.\d+))\s*(s|min|h)?")
_PASSING = re.compile(r"(above|below)\s*(\d+)(?:c|C)?")
_PLACE = re.compile(r"step\s*(\d+)(?::(ramp|hold))?\s*(?:\+(.+))?")


def parse(spec: str) -> Fault:
    """Return the fault that ``spec`` spells; the module tells how.

    Raises
    ------
    FaultError
        Saying what cannot be read and what to write instead.
    """
    head, at, when = spec.strip().partition("@")
    name, equals, figures = head.strip().partition("=")
    kind = KINDS.get(name.strip())
    if kind is None:
        raise FaultError(f"{name.strip()!r} is not a fault the bench knows. Known: {', '.join(KINDS)}.")
    size, length_s = kind.size, kind.length_s
    for figure in figures.split(",") if equals else ():
        value, unit = _figure(spec, figure)
        if unit or kind.size is None:
            if not kind.takes_length:
                raise FaultError(f"{spec}: {kind.name} has no length. Write {kind.name}{_example(kind)}.")
            if value < 0:
                raise FaultError(f"{spec}: a length is not below 0.")
            length_s = value * _UNITS[unit or "s"]
        elif not kind.size_range[0] <= value <= kind.size_range[1]:
            low, high = kind.size_range
            raise FaultError(f"{spec}: {value:g} is outside {low:g} to {high:g} for {kind.name}.")
        else:
            size = value
    if at:
        return _placed(spec, kind.name, size, length_s, when.strip())
    if kind.needs_when:
        raise FaultError(f"{spec}: when? Write {kind.name}{_example(kind)}.")
    return Fault(kind.name, size, length_s, at_s=0.0)


def parse_all(specs: Iterable[str]) -> tuple[Fault, ...]:
    """Return the faults that ``specs`` spell, in their order."""
    return tuple(parse(spec) for spec in specs)


def _figure(spec: str, text: str) -> tuple[float, str | None]:
    """Return a number and its unit of time, None where it has none; FaultError where it can't be read."""
    found = _FIGURE.fullmatch(text.strip())
    if found is None:
        given = text.strip()
        raise FaultError(f"{spec}: {given!r} is no figure. Write a number, or a time such as 90s, 5min, 2h.")
    return float(found[1]), found[2]


def _placed(spec: str, name: str, size: float | None, length_s: float | None, when: str) -> Fault:
    """Return the fault with its WHEN: a place in the program, a temperature, or a time."""
    place = _PLACE.fullmatch(when)
    if place is not None:
        after, unit = _figure(spec, place[3]) if place[3] else (0.0, None)
        if after < 0:
            raise FaultError(f"{spec}: {place[3].strip()!r} is before {name} can happen. Write a time after the +.")
        if int(place[1]) < 1:
            raise FaultError(f"{spec}: steps count from 1.")
        return Fault(
            name, size, length_s, None, int(place[1]), place[2] or KINDS[name].place, after * _UNITS[unit or "s"],
        )
    passing = _PASSING.fullmatch(when)
    if passing is not None:
        return Fault(name, size, length_s, passing_c=float(passing[2]), rising=passing[1] == "above")
    if _FIGURE.fullmatch(when) is None or when.startswith("-"):
        raise FaultError(
            f"{spec}: {when!r} is no time of the firing. Write 3600s, 2h, step4:hold, step4:ramp+60s, above600 or "
            "below200 after the @.",
        )
    value, unit = _figure(spec, when)
    return Fault(name, size, length_s, at_s=value * _UNITS[unit or "s"])


def _example(kind: Kind) -> str:
    """Return how a fault could be written, after its name."""
    figure = f"={kind.size:g}" if kind.size is not None else ""
    return f"{figure}@step3:hold" if kind.place == "hold" else f"{figure}@step4:ramp+60s"
