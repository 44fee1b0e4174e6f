"""JSON as other programs like to read it: no minus zero, which rounding leaves of a small negative figure."""

from __future__ import annotations

from typing import Any


def without_minus_zero(value: Any) -> Any:
    """Return ``value`` with every -0.0 in it, however deep, as 0.0."""
    if isinstance(value, float):
        return value + 0.0
    if isinstance(value, dict):
        return {key: without_minus_zero(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [without_minus_zero(item) for item in value]
    return value
