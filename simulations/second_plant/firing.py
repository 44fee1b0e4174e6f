"""A firing of the second plant from the start press until the kiln is cold: readings, and the truth behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi, sin
from random import Random

from daemon.firing.events import Sample
from simulations.faults import Fault
from simulations.firing import Simulated
from simulations.plant.controller import Segment
from simulations.second_plant.builds import Build
from simulations.second_plant.kiln import Kiln
from simulations.second_plant.logger import Logger, LoggerBuild
from simulations.second_plant.maker import Effects, Maker
from simulations.second_plant.programmer import Habits, Programmer
from simulations.second_plant.regulators import RegulatorBuild
from simulations.second_plant.sensor import Sensor, SensorBuild
from simulations.second_plant.visible import with_visible_starts
from simulations.truth import J_PER_KWH, Truth

STEP_S = 5.0
"""The plant's step [s]. [chosen: half of it changes the kiln by under 0.5 K, as a test holds]"""
LONGEST_S = 72 * 3600.0
"""A firing ends here in any case [s]. [chosen: longer than the longest casting]"""
LOOKED_AFTER_S = 3600.0
"""The readings go on so long after the program is over, or until the kiln is cold [s]. [chosen: to end somewhere]"""
COLD_C = 60.0
"""Cold enough to end the readings [°C]. [common practice: doors are opened there]"""
DEAD_AFTER_S = 10 * 3600.0
"""A kiln without mains is watched so long [s]. [chosen: a night]"""
FLICKER_GONE, FLICKER_S = 0.4, 20
"""A flickering contact is gone for this share of spells of so many seconds. [chosen: comes and goes all night]"""
ZEROS_EVERY = 4
"""One in so many readings is coded zero. [source: issue 13, mechanism 9]"""


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything that makes a firing this one, apart from its plan.

    Attributes
    ----------
    kiln, sensor, regulator, habits
        The kiln and its controller.
    probe, logger
        Our own.
    cycle_s, cycle_k
        Period of the power's cycle.
    room_c, start_c
        Of the room, and of the kiln to begin with [°C].
    mains_share, mains_swing
        Share of full power there is, and how far it swings through the hours.
    covered
        How much of the shelf has glass on it [0 to 1].
    start_s
        When the controller is started [s from the start press].
    """

    kiln: Build
    sensor: SensorBuild
    regulator: RegulatorBuild
    habits: Habits
    probe: SensorBuild
    logger: LoggerBuild
    cycle_s: float
    room_c: float
    start_c: float
    mains_share: float
    mains_swing: float
    covered: float
    start_s: float


class Plant:
    """Kiln, controller and probe together, moved on by ``advance``.

    Parameters
    ----------
    bench, program, faults
        What there is, what the controller was given, and what happens.
    thickness_mm
        Of the glass.
    step_s
        The step [s].
    """

    def __init__(self, bench: Bench, program: Sequence[Segment], faults: Sequence[Fault], thickness_mm: float,
                 step_s: float = STEP_S) -> None:
        self.bench, self.step_s = bench, step_s
        self.kiln = Kiln(bench.kiln, thickness_mm / 1000, bench.covered, bench.room_c, bench.start_c)
        self.sensor, self.probe = Sensor(bench.sensor, self.kiln), Sensor(bench.probe, self.kiln)
        self.maker = Maker(faults)
        self.controller = Programmer(program, bench.habits, self.maker.on_part)
        self.regulator = bench.regulator.build()
        self.t_s = min(0.0, step_s * (bench.start_s // step_s))
        self.effects = Effects()
        self.has_switched = False
        self.duty = 0.0
        self._is_started = self._was_on = False
        shares = bench.kiln.shares
        self._weakest = max(range(3), key=lambda zone: shares[zone])

    def advance(self) -> None:
        """Move on by one step."""
        t_s, dt_s = self.t_s, self.step_s
        measured_c = float(round(self.sensor.reads_c)) if self.bench.habits.whole_degrees else self.sensor.reads_c
        if not self._is_started and t_s >= self.bench.start_s:
            self._is_started = True
            self.controller.start(t_s, measured_c)
        self.effects = effects = self.maker.step(t_s, measured_c, self.controller)
        duty = 0.0
        if effects.is_mains_on:
            setpoint_c = self.controller.step(t_s, measured_c, dt_s)
            if setpoint_c is not None:
                duty = self.regulator.duty(setpoint_c, measured_c, dt_s)
            if effects.is_welded:
                duty = 1.0
        self.duty = duty
        on_share = self._cycled(duty)
        self.has_switched, self._was_on = (on_share > 0.5) != self._was_on, on_share > 0.5
        power_w = self.bench.kiln.power_w * on_share * self._mains_share()
        watts = [power_w * share for share in self.bench.kiln.shares]
        if effects.is_element_out:
            # Of the strongest zone two in three elements are out; a kiln of one zone keeps a third of its power.
            watts[self._weakest] *= 0.34
        self.kiln.open_share, self.kiln.vent_w_per_k = effects.open_share, effects.vent_w_per_k
        self.probe.fallen = effects.fallen
        self.kiln.step(dt_s, watts)
        self.sensor.step(dt_s)
        self.probe.step(dt_s)
        self.t_s = t_s + dt_s

    def _cycled(self, duty: float) -> float:
        """Return the share of this step in which the power is on: it comes first in every cycle."""
        cycle_s = self.bench.cycle_s
        if cycle_s <= self.step_s:
            return duty
        into_s = self.t_s % cycle_s
        return min(1.0, max(0.0, (duty * cycle_s - into_s) / self.step_s))

    def _mains_share(self) -> float:
        """Return the share of full power that the mains gives."""
        return self.bench.mains_share * (1 + self.bench.mains_swing * sin(2 * pi * self.t_s / 20_000.0))

    @property
    def is_over(self) -> bool:
        """Return whether the controller has nothing more to run."""
        return self._is_started and not self.controller.is_running and not self.effects.is_to_start_again


def fire(bench: Bench, program: Sequence[Segment], faults: Sequence[Fault], thickness_mm: float,
         seed: int) -> Simulated:
    """Return the readings of a firing and its truth; the same for the same seed."""
    plant = Plant(bench, program, faults, thickness_mm)
    logger, rng = Logger(bench.logger, seed), Random(f"contact {seed}")
    while plant.t_s < 0.0:
        plant.advance()
    record, before_j = _Record(logger, rng), plant.kiln.power_j
    record.note(plant)
    over_s = None
    while plant.t_s < LONGEST_S:
        plant.advance()
        record.note(plant)
        cut = not plant.effects.is_mains_on
        if not (plant.is_over or cut):
            over_s = None
            continue
        over_s = plant.t_s if over_s is None else over_s
        cold = plant.is_over and plant.probe.reads_c < COLD_C
        if cold or plant.t_s > over_s + (DEAD_AFTER_S if cut else LOOKED_AFTER_S):
            break
    truth = Truth(
        tuple(plant.controller.ran), tuple(replace(h) for h in plant.maker.happened), bench.start_s,
        tuple(record.glass_c), tuple(record.air_c), tuple(record.probe_c), tuple(record.times_s),
        (plant.kiln.power_j - before_j) / J_PER_KWH,
    )
    return Simulated(record.samples, with_visible_starts(truth, bench.logger.noise_k, record.duties))


class _Record:
    """Readings and the truth beside them, as they are written down."""

    def __init__(self, logger: Logger, rng: Random) -> None:
        self.logger, self._rng = logger, rng
        self.samples: list[Sample] = []
        self.glass_c: list[float] = []
        self.air_c: list[float] = []
        self.probe_c: list[float | None] = []
        self.times_s: list[float] = []
        self.duties: list[float] = []
        self._last_c: float | None = None
        self._gone_until_s = 0.0
        self._is_gone = False

    def note(self, plant: Plant) -> None:
        """Write down the readings of the step that ends now."""
        self.logger.advance(plant.step_s)
        every_s, here_c = self.logger.build.interval_s, plant.probe.reads_c
        last_c = here_c if self._last_c is None else self._last_c
        self._last_c = here_c
        state = plant.effects.probe
        if state == "gap" or (every_s > 1 and plant.t_s % every_s):
            return
        if every_s > 1 or not self.samples:
            self._one(plant, plant.t_s, here_c, state)
        else:
            for second in range(1, 6):
                self._one(plant, plant.t_s - 5 + second, last_c + (here_c - last_c) * second / 5, state)

    def _one(self, plant: Plant, t_s: float, shown_c: float, state: str) -> None:
        """Write down one reading, as far as the probe can be read."""
        if state != "frozen":
            self.logger.thaw()
        if state == "flickers" and t_s >= self._gone_until_s:
            self._is_gone = self._rng.random() < FLICKER_GONE
            self._gone_until_s = t_s + FLICKER_S * self._rng.uniform(0.3, 3.0)
        is_lost = state == "open" or (state == "flickers" and self._is_gone)
        if is_lost:
            sample = Sample(t_s, None, "open")
        elif state == "frozen":
            sample = self.logger.frozen(t_s, shown_c)
        elif state == "zeros" and len(self.samples) % ZEROS_EVERY == 0:
            sample = Sample(t_s, 0.0, None, 0.0, 0.0)
        else:
            sample = self.logger.read(t_s, shown_c, switched=plant.has_switched)
        self.samples.append(sample)
        self.times_s.append(t_s)
        self.duties.append(plant.duty)
        self.glass_c.append(plant.kiln.glass_c)
        self.air_c.append(plant.kiln.air_c)
        self.probe_c.append(None if is_lost else shown_c)
