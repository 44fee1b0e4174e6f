"""The passcode's file: what is kept in it, whom it lets in, and what an unreadable one does."""

from __future__ import annotations

import os
import stat

import pytest

from daemon.errors import BadInput
from web.security import passcode

WORDS = "warm sand and slow rivers"


@pytest.fixture(autouse=True)
def cheap_hash(monkeypatch):
    monkeypatch.setattr(passcode, "METHOD", "scrypt:1024:8:1")


@pytest.fixture
def path(tmp_path):
    return tmp_path / "passcode"


@pytest.mark.parametrize(("length", "told"), [(7, "has 7 characters. Use at least 8"), (8, None), (200, None),
                                              (201, "has 201 characters. Use at most 200")])
def test_a_passcode_has_eight_to_two_hundred_characters(path, length, told):
    words = "a reed by the warm river " * 9
    words = words[:length]
    wrong = passcode.check_words(words)
    assert (wrong is None) is (told is None)
    if told:
        assert told in wrong
        with pytest.raises(BadInput, match=told):
            passcode.keep(path, words)
        assert not path.exists()
    else:
        passcode.keep(path, words)
        assert passcode.fits(path, words)


def test_only_the_words_that_were_kept_fit(path):
    assert not passcode.fits(path, WORDS), "none was kept yet"
    passcode.keep(path, WORDS)
    assert passcode.fits(path, WORDS)
    for wrong in (WORDS.upper(), WORDS + " ", "", WORDS[:-1], "x" * 300):
        assert not passcode.fits(path, wrong)
    assert passcode.kept_hash(path) == path.read_text().strip()
    assert WORDS not in path.read_text()


def test_what_is_too_long_is_not_hashed_at_all(path, monkeypatch):
    passcode.keep(path, WORDS)
    monkeypatch.setattr(passcode, "check_password_hash", lambda kept, words: True)
    assert passcode.fits(path, "x" * 200)
    assert not passcode.fits(path, "x" * 201)


def test_a_file_without_a_hash_is_a_lock_without_a_key(path):
    assert passcode.kept_hash(path) is None
    for held in (b"", b"\n", b"\xff\xfe", b"plain words", b"scrypt:1:2$"):
        path.write_bytes(held)
        assert passcode.kept_hash(path) is not None
        assert not passcode.fits(path, held.decode("ascii", "replace").strip())


def test_a_new_passcode_has_another_mark_and_none_has_one_of_its_own(path):
    marks = [passcode.fingerprint(path)]
    for words in (WORDS, WORDS, "another one entirely"):
        passcode.keep(path, words)
        marks.append(passcode.fingerprint(path))
    assert len(set(marks)) == 4, "salted: even the same words make another mark"
    assert [len(mark) for mark in marks] == [16] * 4
    assert passcode.fingerprint(path) == marks[-1]


def test_what_is_private_is_its_owners_and_comes_whole(path):
    passcode.write_private(path, "one\n")
    passcode.write_private(path, "two\n")
    assert path.read_text() == "two\n"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert os.listdir(path.parent) == ["passcode"]
    with pytest.raises(BadInput, match=r"can’t be written .* Check the folder’s owner and free space"):
        passcode.write_private(path / "below", "three\n")


def test_written_by_root_it_belongs_to_whom_the_folder_belongs_to(path, monkeypatch):
    given = []
    monkeypatch.setattr(passcode.os, "chown", lambda file, user, group: given.append((file.name, user, group)))
    folder = path.parent.stat()
    for user, expected in ((0, [("passcode.part", folder.st_uid, folder.st_gid)]), (1000, [])):
        given.clear()
        monkeypatch.setattr(passcode.os, "geteuid", lambda user=user: user)
        passcode.write_private(path, "one\n")
        assert given == expected


def test_the_key_that_signs_sessions_is_made_once(tmp_path):
    key = passcode.page_key(tmp_path)
    assert len(key) == 64
    assert passcode.page_key(tmp_path) == key
    for held in (key[:63], b"", b"\xff" * 64):
        (tmp_path / "page-key").write_bytes(held)
        anew = passcode.page_key(tmp_path)
        assert len(anew) == 64
        assert anew != key
        assert passcode.page_key(tmp_path) == anew
