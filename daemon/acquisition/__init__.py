"""Taking readings: opening the probe, sampling it each second, and replaying a recorded trace as a probe."""
