"""Subcommands of ``lehrling`` that belong to the daemon layer."""
