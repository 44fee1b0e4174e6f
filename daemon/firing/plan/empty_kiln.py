"""Whether a plan is of a kiln with no glass in it, such as one that dries or burns in what protects the shelves."""

from __future__ import annotations

import re

_EMPTY = re.compile(r"\b(?:empty kiln|kiln empty|no glass|without glass)\b", re.IGNORECASE)


def says_empty(title: str) -> bool:
    """Return whether the name that its maker gave a plan says “empty kiln”, or “no glass”.

    Whoever names a glass overrules it. A plan has no other place to say so, and its temperatures do not tell: shelves
    are dried where glass is slumped. “Empty” alone is not enough: it may be the name of a piece.
    """
    return _EMPTY.search(title) is not None
