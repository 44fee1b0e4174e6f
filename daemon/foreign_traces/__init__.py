"""Traces that other loggers wrote: what their rows and columns mean is guessed, shown, and only then believed."""
