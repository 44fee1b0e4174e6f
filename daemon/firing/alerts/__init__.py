"""Findings become alerts: their life, how they go together, their words, milestones and calls."""
