"""The owner's kiln, learned from its own firings: how it falls, climbs and waits, and what it will do with a plan."""
