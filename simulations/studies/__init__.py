"""Hundreds of simulated firings, judged and counted against the truth."""
