"""What is tried first is refused; a few plain words are not."""

from __future__ import annotations

import pytest

from web.security import passcode
from web.security.common_passcodes import is_common


@pytest.mark.parametrize("words", [
    "password", "Password", "PASSWORD1", "passw0rd", "p@ssw0rd!", "password123", "passwort", "Passwort1!",
    "12345678", "123456789", "87654321", "1234567890", "qwertyuiop", "qwertzuiop", "asdfghjkl", "qwerty123",
    "11111111", "aaaaaaaa", "abcabcabc", "12121212", "passwordpassword", "password password", "iloveyou",
    "letmein1", "welcome2026", "lehrling", "Lehrling1", "raspberry", "raspberrypi4", "glasskiln", "abcdefgh",
    "abcd1234", "1q2w3e4r", "qwer1234", "sunshine",
    "sunshinesunshinesunshine", "aaaaaaaaaaa",
])
def test_a_common_passcode_is_refused(words):
    assert is_common(words)
    assert "tried first" in passcode.check_words(words)


@pytest.mark.parametrize("words", [
    "warm sand and slow rivers", "another one entirely", "long enough words", "reed-bowl-37", "glass and river",
    "mypasswordisnotthis", "tides at seven", "9274018365", "kiln by the old barn", "qwertyandmore",
])
def test_words_of_ones_own_are_taken(words):
    assert not is_common(words)
    assert passcode.check_words(words) is None
