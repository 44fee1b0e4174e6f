"""The list of firings, one firing, and what can be exported of it."""
