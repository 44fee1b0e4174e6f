"""A data folder whose messages nobody sends: a demonstration that was given no address."""

from __future__ import annotations

from pathlib import Path

MARK = "sends-nothing.txt"
"""Of a data folder for which no ``lehrling deliver`` runs, on purpose."""
WORDS = "This is a demonstration: it sends nothing."


def sends_nothing(data_dir: Path) -> bool:
    """Return whether nothing is sent from a data folder, on purpose."""
    return (data_dir / MARK).exists()
