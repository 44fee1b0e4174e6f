"""The simulated kiln, controller, thermocouple and chip; shares no code with what it tests."""
