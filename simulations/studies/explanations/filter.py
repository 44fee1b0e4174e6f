"""Temperature and rate of a kiln under one explanation, and how well the readings agree with it.

The rate comes back to its mean as an Ornstein-Uhlenbeck process does; temperature and rate together are followed by a
Kalman filter, whose likelihood is that of the readings (both from memory, textbook results).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, pi

from simulations.studies.explanations.laws import Law

_MOST_RATIO = 36.0
"""One reading counts for at most so many variances, so that an outlier decides nothing. [chosen: six standard
deviations]"""


@dataclass(slots=True)
class Motion:
    """What is known of temperature and rate: means and covariances [K, s]."""

    law: Law
    temp_c: float
    rate: float
    temp_var: float
    covariance: float
    rate_var: float

    def advance(self, for_s: float) -> None:
        """Predict ``for_s`` [s] ahead."""
        law = self.law
        kept = exp(-for_s / law.memory_s)
        moved_s = law.memory_s * (1.0 - kept)
        self.temp_c += law.mean * for_s + (self.rate - law.mean) * moved_s
        self.rate = law.mean + (self.rate - law.mean) * kept
        new = law.sd**2 * (1.0 - kept * kept)
        self.temp_var += 2 * moved_s * self.covariance + moved_s * moved_s * self.rate_var + new * for_s * for_s / 3
        self.covariance = (self.covariance + moved_s * self.rate_var) * kept + new * for_s / 2
        self.rate_var = self.rate_var * kept * kept + new

    def take(self, temp_c: float, noise_k2: float) -> tuple[float, float]:
        """Take a temperature whose noise has that variance; return what it costs [nats], and its surprise.

        The surprise is the squared distance from what was predicted, in variances.
        """
        spread = self.temp_var + noise_k2
        off_k = temp_c - self.temp_c
        gain_temp, gain_rate = self.temp_var / spread, self.covariance / spread
        self.temp_c += gain_temp * off_k
        self.rate += gain_rate * off_k
        self.rate_var -= gain_rate * self.covariance
        self.covariance -= gain_rate * self.temp_var
        self.temp_var -= gain_temp * self.temp_var
        ratio = off_k * off_k / spread
        return 0.5 * (log(2 * pi * spread) + min(_MOST_RATIO, ratio)), ratio


def begun(law: Law, temp_c: float, temp_var: float) -> Motion:
    """Return what is known when an explanation begins at ``temp_c``, known with ``temp_var`` [K²]."""
    return Motion(law, temp_c, law.first, temp_var + law.leap_k**2, 0.0, law.first_sd**2)
