"""What a reading is worth: the thermocouple compared with ice, boiling water or an instrument, and the words."""
