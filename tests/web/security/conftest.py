"""A page that asks for the passcode, and what a request of its own says of itself."""

from __future__ import annotations

import pytest

from web.security import passcode

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
WORDS = "warm sand and slow rivers"


@pytest.fixture
def guarded(studio, cheap_hash):
    """Return the page of a studio with a firing, which asks for WORDS."""
    studio.say(studio.fill())
    passcode.keep(studio.folder / "passcode", WORDS)
    return studio.app(open_house=False)
