"""Which part of the plan the kiln is in, and how the probe usually differs from the plan."""
