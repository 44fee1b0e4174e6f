"""What our box makes of the probe: white noise, a wander that returns, contactor kicks, steps of its display."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin
from random import Random

from daemon.firing.events import Sample


@dataclass(frozen=True, slots=True)
class LoggerBuild:
    """What makes a logger this one.

    Attributes
    ----------
    interval_s
        Seconds between readings; at 5 it keeps the median of five.
    step_k
        Readings are rounded to this.
    noise_k
        White noise of one reading, standard deviation.
    wander_k, returns_s
        Standard deviation of the wander, and in what time it returns.
    kicks
        How often a contactor that switches leaves its kick in a reading [0 to 1].
    beat_k, beat_s
        Size and period of the mains' beat.
    drift_k
        How much higher the probe reads after a whole day.
    """

    interval_s: int
    step_k: float
    noise_k: float
    wander_k: float
    returns_s: float
    kicks: float
    beat_k: float
    beat_s: float
    drift_k: float


def random_logger(rng: Random, *, is_harsh: bool = False) -> LoggerBuild:
    """Return a logger at random; a harsh one is noisy."""
    return LoggerBuild(
        interval_s=5 if is_harsh else rng.choice((5,) * 12 + (1, 10, 30, 60)),
        step_k=rng.choice((1 / 128, 1 / 128, 1 / 128, 0.1, 0.25, 1.0)),
        noise_k=rng.uniform(2.0, 4.2) if is_harsh else rng.uniform(0.15, 1.6),
        wander_k=rng.uniform(0.5, 1.1) if is_harsh else rng.uniform(0.05, 0.6), returns_s=rng.uniform(400, 2500),
        kicks=rng.choice((0.0, 0.0, rng.uniform(0.0, 0.02))) * (4 if is_harsh else 1),
        beat_k=rng.uniform(0.5, 2.0) if is_harsh else rng.choice((0.0, 0.0, 0.0, rng.uniform(0.2, 1.0))),
        beat_s=rng.uniform(20, 400), drift_k=rng.gauss(0.0, 1.0),
    )


class Logger:
    """Makes readings of what the probe truly shows; the same for the same seed."""

    def __init__(self, build: LoggerBuild, seed: int) -> None:
        self.build = build
        self._rng = Random(f"logger {seed}")
        self._wander_k = self._rng.gauss(0.0, build.wander_k)
        self._kept: Sample | None = None

    def advance(self, dt_s: float) -> None:
        """Let the wander walk on: a step at random, and back toward nothing."""
        build = self.build
        back = dt_s / build.returns_s
        self._wander_k += self._rng.gauss(0.0, build.wander_k * (2 * back) ** 0.5) - back * self._wander_k

    def read(self, t_s: float, shown_c: float, switched: bool) -> Sample:
        """Return the reading at ``t_s`` of a probe that shows ``shown_c``; ``switched``: a contactor just did."""
        build, rng = self.build, self._rng
        base_c = shown_c + self._wander_k + build.drift_k * t_s / 86_400
        if build.beat_k:
            base_c += build.beat_k * sin(2 * pi * t_s / build.beat_s)
        kick_k = 0.0
        if switched and build.kicks and rng.random() < build.kicks:
            kick_k = rng.choice((-1, 1)) * rng.uniform(5, 60)
        if build.interval_s != 5:
            temp_c = self._rounded(base_c + kick_k + rng.gauss(0.0, build.noise_k))
            return Sample(t_s, temp_c, None, temp_c, temp_c)
        five = sorted(self._rounded(base_c + rng.gauss(0.0, build.noise_k)) for _ in range(5))
        if kick_k:
            five[rng.randrange(5)] += kick_k
            five.sort()
        return Sample(t_s, five[2], None, five[0], five[4])

    def frozen(self, t_s: float, shown_c: float) -> Sample:
        """Return the reading of a probe that stopped at the first value asked for since it froze."""
        if self._kept is None:
            self._kept = self.read(t_s, shown_c, switched=False)
        at_c = self._kept.temp_c
        return Sample(t_s, at_c, None, at_c, at_c)

    def thaw(self) -> None:
        """Forget the value it stopped at."""
        self._kept = None

    def _rounded(self, temp_c: float) -> float:
        """Return a temperature in the steps of the display."""
        return round(temp_c / self.build.step_k) * self.build.step_k
