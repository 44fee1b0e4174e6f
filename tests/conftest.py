"""What holds for every test."""

from hypothesis import HealthCheck, settings

# Correctness only: how long an example takes, or to be made, says something of the machine and nothing of us.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")
