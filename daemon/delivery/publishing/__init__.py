"""What an MQTT broker is told of the kiln, for other programs and home hubs; nothing is taken from it."""
