"""Faults as states: explanations that compete, run in shadow beside the watcher (docs/figures)."""
