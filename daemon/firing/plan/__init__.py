"""The written plan: read, expanded into ramps and holds, read back, and checked for a wrong unit."""
