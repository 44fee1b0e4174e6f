"""Subcommands of ``lehrling`` that need the bench."""
