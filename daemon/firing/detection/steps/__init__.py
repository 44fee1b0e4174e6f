"""Steps down in the readings: a lid, a vent, a probe that falls; how they begin, stand and end."""
