"""Passcodes that are tried first: words that many people choose, keys beside each other, repetitions.

A short list of this project's own making. It holds what a stranger would try at a glass kiln's page within a day, not
all that was ever leaked. Guessing is slow, and told to the owner.
"""

from __future__ import annotations

import re

_WORDS = frozenset({
    "admin", "administrator", "baseball", "batman", "butterfly", "changeme", "cheese", "chocolate", "computer",
    "december", "default", "diamond", "dragon", "family", "flower", "football", "forever", "freedom", "friends",
    "fusing", "geheim", "glasofen", "glass", "glasskiln", "glassstudio", "hallo", "hello", "house", "iloveyou",
    "internet", "kiln", "kilnpass", "lehrling", "letmein", "login", "london", "lovely", "master", "merlin",
    "monkey", "mother", "mykiln", "mypassword", "network", "nothing", "november", "october", "ofen", "orange",
    "pass", "passcode", "passphrase", "password", "passwort", "pepper", "princess", "qwerty", "qwertz",
    "raspberry", "raspberrypi", "router", "schmelzofen", "secret", "september", "shadow", "slumping",
    "starwars", "studio", "summer", "sunday", "sunshine", "superman", "superstar", "teddybear", "test",
    "testing", "thekiln", "thermocouple", "trustno", "unknown", "user", "welcome", "whatever", "willkommen",
    "windows", "winter", "workshop",
})
"""Words that alone, or with figures and signs around them, are no passcode. [from memory]"""
_ROWS = ("qwertyuiop", "qwertzuiop", "asdfghjkl", "zxcvbnm", "yxcvbnm", "azertyuiop", "1234567890", "0987654321",
         "abcdefghijklmnopqrstuvwxyz", "1q2w3e4r5t6y7u8i9o0p", "1qaz2wsx3edc4rfv5tgb6yhn")
"""Keys beside each other. [source: a keyboard]"""
_FIGURES_FOR_LETTERS = str.maketrans("@4301!5$7", "aaeoiisst")
"""Figures and signs that people put for letters. [from memory]"""
_SHORTEST_RUN = 4
"""Keys beside each other that make a run [characters]. [chosen: three stand in many words]"""


def is_common(passcode: str) -> bool:
    """Return whether a passcode is one of those that are tried first."""
    plain = "".join(passcode.casefold().split())
    spelt = {form.translate(_FIGURES_FOR_LETTERS) for form in (plain, _core(plain))}
    return any(_is_weak(form) for form in {plain, *spelt} - {""})


def _core(plain: str) -> str:
    """Return a passcode without the figures and signs before and after it."""
    return re.sub(r"^[\W\d_]+|[\W\d_]+$", "", plain)


def _is_weak(plain: str) -> bool:
    return _core(plain) in _WORDS or _repeats(plain, _WORDS) or _is_of_runs(plain)


def _repeats(plain: str, words: frozenset[str]) -> bool:
    """Return whether a passcode is one piece of at most four characters, or one word of the list, again and again."""
    return any(len(plain) % size == 0 and plain == plain[:size] * (len(plain) // size)
               and (size <= 4 or plain[:size] in words) for size in range(1, len(plain) // 2 + 1))


def _is_of_runs(plain: str) -> bool:
    """Return whether a passcode is nothing but keys beside each other, forwards or backwards, and figures."""
    rows = [row for forwards in _ROWS for row in (forwards, forwards[::-1])]
    left = plain
    while left:
        longest = max((size for row in rows for size in range(_SHORTEST_RUN, len(left) + 1) if left[:size] in row),
                      default=0)
        if not longest:
            return left != plain and left.isdigit()
        left = left[longest:]
    return True
