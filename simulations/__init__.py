"""The bench: a kiln, its controller, a thermocouple and a chip, none of them real."""
