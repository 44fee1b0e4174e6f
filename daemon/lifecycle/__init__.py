"""A firing's life: opened, resumed after a restart, renamed, judged, ended."""
