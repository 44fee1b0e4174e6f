"""Finding what was written, and figures of many firings at once."""
