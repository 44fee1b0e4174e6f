"""Reminders as a calendar that others subscribe to: what dries, the kiln cool enough to open, parts to look at."""
