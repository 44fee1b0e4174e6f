"""A second object in the same state, for what goes on by itself while the first stays where it is."""

from __future__ import annotations

from typing import TypeVar

T = TypeVar("T")


def twin_of(original: T) -> T:
    """Return a new object of the same class with the same values in its attributes, which are not copied themselves.

    It does what ``copy.copy`` does for a plain object, without asking first how the object wants to be copied. The
    glass's figures need a dozen such copies at each reading.

    Parameters
    ----------
    original
        An object of a class without slots.
    """
    other = object.__new__(type(original))
    other.__dict__.update(original.__dict__)
    return other
