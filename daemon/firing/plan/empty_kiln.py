"""Whether a plan is of a kiln with no glass in it, such as one that dries or burns in what protects the shelves."""

from __future__ import annotations

import re

_EMPTY = re.compile(r"\bempty\b", re.IGNORECASE)


def says_empty(title: str) -> bool:
    """Return whether the name that its maker gave a plan has the word “empty”; whoever names a glass overrules it.

    A plan has no other place to say so, and its temperatures do not tell: shelves are dried where glass is slumped.
    """
    return _EMPTY.search(title) is not None
