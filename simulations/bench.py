"""The bench probe: kiln, controller, thermocouple and chip behind the real driver, at the clock's pace.

The plant is brought up to the firing clock at every read. It depends on nothing but its settings and the
seed, so a service that was killed and started again finds the kiln where it would have gone meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from daemon.acquisition.sampling import Slot
from daemon.errors import BadInput
from daemon.firing.events import Sample
from daemon.firing.plan.plan import Plan, parse_plan, write_plan
from hw.bus import Bus
from hw.max31856 import Max31856
from hw.settings import Settings
from hw.thermocouple import Reading
from simulations.faults import Fault
from simulations.firing import ABOVE_ROOM_K, DEFAULT_KILN, Simulated, kiln_named, program, read_faults, surroundings
from simulations.noise import NOISE_K, WANDER_K, Noise
from simulations.plant import thermocouple
from simulations.plant.builds import PRESETS
from simulations.plant.chip import Absent, Chip, Terminals
from simulations.plant.kiln import STEP_S
from simulations.plant.plant import Plant
from simulations.random_plans import on_paper
from simulations.studies.scenarios import SCENARIOS
from simulations.truth import Record, truth_of

START_S = 120.0
"""When the bench's controller is started [s of the firing clock]. [chosen: the log has begun by then]"""
REHEARSAL_PLAN = write_plan(on_paper(
    "Bench rehearsal: full fuse, 6 mm",
    "220/670/30 squeeze, 250/800/10 top, free/516/60 anneal, 55/370, 150/40"))
"""What the bench fires where no plan is given."""


class BenchProbe:
    """A kiln on the bench with its thermocouple, read through the real driver.

    Parameters
    ----------
    plant
        Kiln, controller and mishaps.
    now_s
        The firing clock [s].
    mains_hz, averaging
        Settings of the chip.
    noise
        Noise and disturbances of the junction.
    offset_k
        Our thermocouple reads this much too high [K].
    seed
        Of the chip's own noise.
    bath_c
        The thermocouple is out of the kiln, in a bath of this temperature [°C]; None leaves it in the kiln.
    """

    name = "bench"

    def __init__(
        self, plant: Plant, now_s: Callable[[], float], *, mains_hz: int = 50, averaging: int = 4, noise: Noise,
        offset_k: float = 0.0, seed: int = 1, bath_c: float | None = None,
    ) -> None:
        self.plant = plant
        self._bath_c = bath_c
        self._now_s = now_s
        self._noise = noise
        self._offset_k = offset_k
        self._resets = 0
        self._t_s = plant.t_s
        self._from_c = plant.junction_c
        self.chip = Chip(self._terminals, self._time, seed=seed)
        self._probe = Max31856(
            Bus(self.chip.transfer), thermocouple_type=plant.wiring.set_to,
            mains_hz=60 if mains_hz == 60 else 50, averaging=averaging, now_s=self._time, sleep=self._sleep,
        )

    def read(self) -> Reading:
        """Bring the plant up to the firing clock and return what the real driver reads."""
        self._t_s = max(self._t_s, self._now_s())
        self._bring_up()
        reading = self._probe.read()
        return replace(reading, detail=f"bench: {reading.detail}") if reading.detail else reading

    def close(self) -> None:
        """Let go of the chip."""
        self._probe.close()

    def _time(self) -> float:
        return self._t_s

    def _sleep(self, duration_s: float) -> None:
        self._t_s += duration_s
        self._bring_up()

    def _bring_up(self) -> None:
        """Advance the plant to the firing clock, and let its chip faults act on the chip."""
        plant = self.plant
        while plant.t_s < self._t_s:
            self._from_c = plant.junction_c
            plant.advance()
            self._noise.advance(plant.mishaps.effects)
        self.chip.stuck = plant.probe_fault == "chip-stuck"
        self.chip.frozen = plant.is_reading_frozen
        self.chip.bad_bits = plant.mishaps.effects.bad_bits
        resets = sum(happened.name == "chip-reset" for happened in plant.happened) if plant.happened else 0
        if resets > self._resets:
            self.chip.reset()
            self._resets = resets
        self.chip.absent = Absent.ONES if plant.probe_fault in ("silent", "gap") else None

    def _terminals(self) -> Terminals:
        """Return what hangs at the chip now, between the plant's last two steps."""
        plant = self.plant
        cold_c, fault = plant.cold_junction_c, plant.probe_fault
        if fault == "open":
            return Terminals(None, cold_c)
        share = 1.0 - (plant.t_s - self._t_s) / STEP_S
        hot_c = self._from_c + (plant.junction_c - self._from_c) * share if self._bath_c is None else self._bath_c
        hot_c += self._offset_k + self._noise.draw_k()
        return Terminals(plant.wiring.mv(hot_c, cold_c, plant.head_c), cold_c, voltage_fault=fault == "short")


def open_probe(asked: Settings, now_s: Callable[[], float]) -> BenchProbe:
    """Open a kiln on the bench.

    Parameters
    ----------
    asked
        ``kiln`` (one of the bench, or a scenario, which brings plan, faults and all the rest with it),
        ``plan`` (a TOML file's name, or its text), ``faults`` (a list, spelt as for rehearse),
        ``seed``, ``start_s`` (when the controller is started, seconds of the firing clock), ``offset_c``,
        ``noise_k``, ``wander_k``, ``bath_c`` (the thermocouple hangs in such a bath, not in the kiln),
        ``thermocouple_type``, ``mains_hz``, ``averaging``; all may be left out.
    now_s
        The firing clock [s].

    Raises
    ------
    BadInput
        Naming the setting, plan or fault that cannot be used, and the remedy.
    """
    name = asked.choice("kiln", DEFAULT_KILN, (*PRESETS, *SCENARIOS))
    case = SCENARIOS[name].case if name in SCENARIOS else None
    own_plan = asked.has("plan")
    written = asked.text("plan", REHEARSAL_PLAN, lines=True)
    spelt = asked.texts("faults")
    seed = int(asked.number("seed", case.seed if case else 1, 0, 2**31))
    start_s = asked.number("start_s", max(START_S, case.start_s) if case else START_S, -86_400, 1e9, "s")
    noise = Noise(
        seed, asked.number("noise_c", case.noise_k if case else NOISE_K, 0, 20),
        asked.number("wander_c", case.wander_k if case else WANDER_K, 0, 20),
    )
    chosen: dict[str, Any] = {
        "bath_c": asked.number("bath_c", 0.0, -20, 120, "°C") if asked.has("bath_c") else None,
        "mains_hz": asked.choice("mains_hz", 50, (50, 60)),
        "averaging": asked.choice("averaging", 4, (1, 2, 4, 8, 16)),
        "offset_k": asked.number("offset_c", case.offset_k if case else 0.0, -100, 100),
    }
    kind = asked.choice("thermocouple_type", case.kind if case else "K", thermocouple.TYPES)
    asked.finish()
    plan = case.keyed or case.plan if case is not None and not own_plan else plan_from(written)
    faults = read_faults(spelt, plan)
    if case is not None:
        faults += read_faults((*case.faults, *case.habits), plan)
    build, around = (case.kiln, case.around) if case else (kiln_named(name), surroundings(seed))
    plant = Plant(build, program(plan), faults, start_s, around, kind)
    return BenchProbe(plant, now_s, noise=noise, seed=seed, **chosen)


def plan_from(text: str) -> Plan:
    """Return the plan in ``text``, which is TOML or the name of a file with it."""
    if "\n" in text or "=" in text:
        return parse_plan(text, "[probe] plan")
    return read_plan(Path(text))


def read_plan(path: Path) -> Plan:
    """Return the plan in the file at ``path``; BadInput names file and remedy."""
    try:
        return parse_plan(path.read_text(encoding="utf-8"), str(path))
    except UnicodeDecodeError:
        raise BadInput(str(path), "not readable as UTF-8 text.", "Save it as UTF-8.") from None
    except OSError as err:
        problem = f"can't be read: {err.strerror}."
        raise BadInput(str(path), problem, "Check the plan's name and folder.") from None


def simulate_through_chip(
    plan: Plan, kiln: str = DEFAULT_KILN, faults: Sequence[Fault] = (), seed: int = 1, *,
    start_s: float = START_S, offset_k: float = 0.0, noise_k: float = NOISE_K, wander_k: float = WANDER_K,
    until_c: float = 40.0, longest_s: float = 48 * 3600.0,
) -> Simulated:
    """Return a simulated firing read second by second through chip and real driver.

    The arguments are those of simulations.firing.simulate, which is some ten times as fast.
    """
    clock = _ManualClock()
    plant = Plant(kiln_named(kiln), program(plan), faults, start_s, surroundings(seed))
    probe = BenchProbe(plant, clock.now, noise=Noise(seed, noise_k, wander_k), offset_k=offset_k, seed=seed)
    samples: list[Sample] = []
    record, slot = Record(), Slot()
    until_c = max(until_c, plant.around.room_c + ABOVE_ROOM_K)
    while clock.now_s < longest_s:
        found = slot.add(int(clock.now_s), probe.read())
        clock.now_s += 1.0
        if not found:
            continue
        samples += found
        record.note(found[-1].t_s, plant, offset_k)
        if plant.over and plant.probe.temp_c < until_c:
            break
    return Simulated(samples, truth_of(plant, record))


class _ManualClock:
    """A clock turned by hand."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def now(self) -> float:
        return self.now_s
