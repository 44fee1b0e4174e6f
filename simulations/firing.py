"""A simulated firing: the readings Lehrling would have stored, and the truth behind them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

from daemon.errors import BadInput
from daemon.firing.events import Sample
from daemon.firing.plan.plan import Plan
from simulations.faults import Fault, FaultError, parse_all
from simulations.noise import NOISE_K, WANDER_K, Noise, stored
from simulations.plant.builds import PRESETS, Build
from simulations.plant.controller import Segment
from simulations.plant.plant import Plant
from simulations.plant.surroundings import Surroundings
from simulations.truth import Record, Truth, truth_of

DEFAULT_KILN = "top-loader"
ABOVE_ROOM_K = 4.0
"""A firing is not waited for below this much above the room [K]. [chosen: nearer, a kiln takes days]"""
_HIGHEST_SENSOR_OFFSET_K = 4.0
"""No controller's sensor is taken to be further off than this [K]. [common practice: it would be replaced]"""


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


def random_sensor_offset_k(rng: Random) -> float:
    """Return how much too high a controller's own sensor reads [K], at random."""
    return max(-_HIGHEST_SENSOR_OFFSET_K, min(_HIGHEST_SENSOR_OFFSET_K, rng.gauss(0.0, 1.5)))


def surroundings(seed: int) -> Surroundings:
    """Return room, mains, load and controller's sensor of the firing with this seed."""
    rng = Random(seed)
    return Surroundings(
        room_c=rng.uniform(15.0, 25.0),
        mains_share=rng.uniform(0.94, 1.02),
        sensor_offset_k=random_sensor_offset_k(rng),
        load_share=rng.uniform(0.8, 1.25),
    )


def simulate(
    plan: Plan, kiln: str | Build = DEFAULT_KILN, faults: Sequence[Fault] = (), seed: int = 1, *,
    start_s: float = 120.0, offset_k: float = 0.0, noise_k: float = NOISE_K, wander_k: float = WANDER_K,
    around: Surroundings | None = None, kind: str = "K", interval_s: int = 5, until_c: float = 40.0,
    longest_s: float = 48 * 3600.0,
) -> Simulated:
    """Return a simulated firing of ``plan``, without the chip driver, as fast as it goes.

    Parameters
    ----------
    plan
        What the controller was given.
    kiln
        A name in simulations.plant.builds.PRESETS, or a kiln of one's own.
    faults
        What goes wrong (see read_faults).
    seed
        The same seed gives the same firing.
    start_s
        When the controller starts [s from the start press]; start-late and start-early overrule it.
    offset_k
        Our probe reads this much too high [K], beside what its place in the kiln does.
    noise_k
        White noise of one second's reading, standard deviation [K]; the stored median of five has about
        half of it.
    wander_k
        Slow wander of the readings, standard deviation [K].
    around
        Room, mains, load, controller and probe; None draws them from the seed.
    kind
        Type of our thermocouple.
    interval_s
        Seconds between readings: 1, 5 (medians of five, as the service keeps them), or a multiple of 5, as
        other loggers write: one reading in so many seconds.
    until_c
        The firing ends when the program is over and the probe is below this [°C].
    longest_s
        It ends here in any case [s].

    Raises
    ------
    BadInput
        Where the kiln is not known.
    """
    build = kiln_named(kiln) if isinstance(kiln, str) else kiln
    plant = Plant(build, program(plan), faults, start_s, around or surroundings(seed), kind)
    noise = Noise(seed, noise_k, wander_k)
    step_k = plant.probe.placement.step_k
    while plant.t_s < 0.0:
        plant.advance()
    record = Record()
    last_c = plant.shown_c
    first = Sample(0.0, None, "range") if last_c is None else stored(0.0, [last_c + offset_k + noise.draw_k()])
    samples = [first]
    record.note(0.0, plant, offset_k)
    until_c = max(until_c, plant.around.room_c + plant.around.room_swing_k + ABOVE_ROOM_K)
    while plant.t_s < longest_s:
        plant.advance()
        noise.advance(plant.mishaps.effects)
        shown_c = plant.shown_c
        kept_c = samples[-1].temp_c if plant.is_reading_frozen else None
        for sample in _readings(plant.t_s, last_c, shown_c, plant.probe_fault, offset_k, noise, interval_s, kept_c):
            zero_every = plant.mishaps.effects.zero_every
            if zero_every and len(samples) % zero_every == 0 and sample.temp_c is not None:
                sample = Sample(sample.t_s, 0.0, None, 0.0, 0.0)
            samples.append(in_steps(sample, step_k) if step_k else sample)
            record.note(sample.t_s, plant, offset_k)
        last_c = shown_c
        if plant.junction_c < until_c and plant.over:
            break
    return Simulated(samples, truth_of(plant, record))


def in_steps(sample: Sample, step_k: float) -> Sample:
    """Return the reading as a logger shows it that knows steps of ``step_k`` [K] only."""
    if sample.temp_c is None or sample.low_c is None or sample.high_c is None:
        return sample
    shown = [step_k * round(temp_c / step_k) for temp_c in (sample.temp_c, sample.low_c, sample.high_c)]
    return sample._replace(temp_c=shown[0], low_c=shown[1], high_c=shown[2])


def _readings(
    t_s: float, last_c: float | None, here_c: float | None, fault: str | None, offset_k: float, noise: Noise,
    interval_s: int, kept_c: float | None = None,
) -> Iterator[Sample]:
    """Yield the readings of the five seconds that end at ``t_s``, in which the probe went between two values.

    A reading that is frozen stays ``kept_c`` [°C] for all of them.
    """
    if fault == "gap":
        return
    if fault is not None or here_c is None or last_c is None:
        if t_s % interval_s == 0:
            yield Sample(t_s, None, "silent" if fault == "chip-stuck" else fault or "range")
        return
    rise_k = (here_c - last_c) / 5
    temps_c = [last_c + offset_k + rise_k * second + noise.draw_k() for second in (1, 2, 3, 4, 5)]
    if kept_c is not None:
        temps_c = [kept_c] * 5
    if interval_s == 1:
        yield from (stored(t_s - 5 + n, [temp_c]) for n, temp_c in enumerate(temps_c, 1))
    elif t_s % interval_s == 0:
        yield stored(t_s, temps_c if interval_s == 5 else temps_c[-1:])
