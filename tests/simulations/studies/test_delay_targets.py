"""Delays are promised of rows that exist."""

from __future__ import annotations

from simulations.studies.delay_targets import DELAY_TARGETS
from simulations.studies.faulty.table import ROWS


def test_every_promised_row_is_there():
    assert {name.removesuffix("-woke") for name in DELAY_TARGETS} <= set(ROWS)
