"""The topics of one kiln."""

from __future__ import annotations

from dataclasses import dataclass

ONLINE, OFFLINE = b"online", b"offline"
"""What is retained under ``availability``: somebody watches and the state is the present one, or not."""


@dataclass(frozen=True, slots=True)
class Topics:
    """The topics that begin with ``base``, such as ``lehrling/studio-kiln``."""

    base: str

    @property
    def state(self) -> str:
        """Return where the state is retained."""
        return f"{self.base}/state"

    @property
    def availability(self) -> str:
        """Return where it is retained whether the state is the present one."""
        return f"{self.base}/availability"

    @property
    def event(self) -> str:
        """Return where each step of an alert is published."""
        return f"{self.base}/event"
