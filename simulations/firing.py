"""A simulated firing: the readings Lehrling would have stored, and the truth behind them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Any

from daemon.errors import BadInput
from daemon.firing.events import Sample
from daemon.firing.plan import Plan
from simulations.controller import Segment
from simulations.faults import Fault, FaultError, parse_all
from simulations.kiln import PRESETS, Build
from simulations.noise import NOISE_C, WANDER_C, Noise, stored
from simulations.plant import Happened, Plant, Surroundings

DEFAULT_KILN = "top-loader"


@dataclass(frozen=True, slots=True)
class TruePart:
    """A ramp or hold as the controller really ran it [s from the start press]."""

    step: int
    part: str
    start_s: float
    end_s: float | None


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
    """

    parts: tuple[TruePart, ...]
    faults: tuple[Happened, ...]
    start_s: float
    glass_c: tuple[float, ...]
    air_c: tuple[float, ...]

    def as_json(self) -> dict[str, Any]:
        """Return what a report shows of it, as plain values."""
        return {
            "start_s": self.start_s,
            "parts": [
                {"step": p.step, "part": p.part, "start_s": p.start_s, "end_s": p.end_s} for p in self.parts
            ],
            "faults": [
                {"name": f.name, "size": f.size, "at_s": f.at_s, "until_s": f.until_s} for f in self.faults
            ],
            "peak_glass_c": round(max(self.glass_c), 2) if self.glass_c else None,
        }


@dataclass(frozen=True, slots=True)
class Simulated:
    """Readings and truth of one simulated firing."""

    samples: list[Sample]
    truth: Truth


def read_faults(specs: Iterable[str], plan: Plan) -> tuple[Fault, ...]:
    """Return the faults spelt in ``specs`` (see simulations.faults), checked against ``plan``.

    Raises
    ------
    BadInput
        Naming the fault that cannot be read or placed, and the remedy.
    """
    try:
        faults = parse_all(specs)
    except FaultError as err:
        raise BadInput("--fault", str(err)) from None
    for fault in faults:
        if fault.step is None:
            continue
        if fault.step > len(plan.steps):
            raise BadInput(
                "--fault",
                f"{fault.name} is to happen in step {fault.step}, but the plan has {len(plan.steps)}.",
                "Name a step of the plan.",
            )
        if fault.part == "hold" and plan.steps[fault.step - 1].hold_s == 0:
            raise BadInput(
                "--fault", f"{fault.name} is to happen in the hold of step {fault.step}, which has none.",
                f"Write step{fault.step}:ramp, or name a step that holds.",
            )
    return faults


def kiln_named(name: str) -> Build:
    """Return the bench kiln of that name; BadInput lists those there are."""
    if name not in PRESETS:
        raise BadInput("--kiln", f"{name!r} is not on the bench.", f"Known: {', '.join(PRESETS)}.")
    return PRESETS[name]


def program(plan: Plan) -> tuple[Segment, ...]:
    """Return ``plan`` as the bench's controller takes it."""
    return tuple(Segment(step.rate_c_per_h, step.to_c, step.hold_s) for step in plan.steps)


def surroundings(seed: int) -> Surroundings:
    """Return what is particular to the firing with this seed: room, mains, load, controller's sensor."""
    rng = Random(seed)
    return Surroundings(
        room_c=rng.uniform(15.0, 25.0),
        mains_share=rng.uniform(0.94, 1.02),
        sensor_offset_c=max(-4.0, min(4.0, rng.gauss(0.0, 1.5))),
        load_share=rng.uniform(0.8, 1.25),
    )


def simulate(
    plan: Plan, kiln: str = DEFAULT_KILN, faults: Sequence[Fault] = (), seed: int = 1, *,
    start_s: float = 120.0, offset_c: float = 0.0, noise_c: float = NOISE_C, wander_c: float = WANDER_C,
    around: Surroundings | None = None, until_c: float = 40.0, longest_s: float = 48 * 3600.0,
) -> Simulated:
    """Return a simulated firing of ``plan``, without the chip driver, as fast as it goes.

    Parameters
    ----------
    plan
        What the controller was given.
    kiln
        A name in simulations.kiln.PRESETS.
    faults
        What goes wrong (see read_faults).
    seed
        The same seed gives the same firing.
    start_s
        When the controller starts [s from the start press]; start-late and start-early overrule it.
    offset_c
        Our probe reads this much too high [°C], beside what its place in the kiln does.
    noise_c
        White noise of one second's reading, standard deviation [°C]; the stored median of five has about
        half of it.
    wander_c
        Slow wander of the readings, standard deviation [°C].
    around
        Room, mains, load and controller's sensor; None draws them from the seed.
    until_c
        The firing ends when the program is over and the probe is below this [°C].
    longest_s
        It ends here in any case [s].

    Raises
    ------
    BadInput
        Where the kiln is not known.
    """
    plant = Plant(kiln_named(kiln), program(plan), faults, start_s, around or surroundings(seed))
    noise = Noise(seed, noise_c, wander_c)
    while plant.t_s < 0.0:
        plant.advance()
    last_c = plant.probe.temp_c
    samples = [stored(0.0, [last_c + offset_c + noise.now_c()])]
    glass, air = [plant.kiln.glass_c], [plant.kiln.air_c]
    until_c = max(until_c, plant.around.room_c + 4.0)
    while plant.t_s < longest_s:
        plant.advance()
        here_c, fault = plant.probe.temp_c, plant.probe_fault
        if fault:
            samples.append(Sample(plant.t_s, None, fault))
        else:
            noise.go_on()
            base_c, rise_c = last_c + offset_c, (here_c - last_c) / 5
            temps_c = [base_c + rise_c * second + noise.now_c() for second in (1, 2, 3, 4, 5)]
            samples.append(stored(plant.t_s, temps_c))
        glass.append(plant.kiln.glass_c)
        air.append(plant.kiln.air_c)
        last_c = here_c
        if here_c < until_c and plant.over:
            break
    return Simulated(samples, truth_of(plant, glass, air))


def truth_of(plant: Plant, glass: Iterable[float] = (), air: Iterable[float] = ()) -> Truth:
    """Return the truth of the firing that ``plant`` has run so far."""
    parts = tuple(TruePart(r.step, r.part, r.start_s, r.end_s) for r in plant.ran)
    happened = tuple(replace(h) for h in plant.happened)
    return Truth(parts, happened, plant.start_s, tuple(glass), tuple(air))
