"""The mark outlives a restart; one that makes no sense stops nothing."""

import pytest

from daemon.delivery.publishing.mark import Mark, read_mark, write_mark


def test_a_mark_is_read_as_it_was_written(tmp_path):
    mark = Mark("0a1b2c3d", 12, "2026-11-25T02:10:00.000Z", ("a/state", "a/availability"))
    assert write_mark(tmp_path / "mark", mark)
    assert read_mark(tmp_path / "mark") == mark
    assert [path.name for path in tmp_path.iterdir()] == ["mark"]


def test_without_a_file_the_mark_is_new_and_each_kiln_has_its_own_id(tmp_path):
    one, other = read_mark(tmp_path / "mark"), read_mark(tmp_path / "mark")
    assert (one.number, one.retained) == (None, ())
    assert one.house_id != other.house_id


@pytest.mark.parametrize("text", [
    "", "[]", '{"house_id": "a/b#", "number": 1, "wall_utc": "", "retained": []}',
    '{"house_id": "ab", "number": "1", "wall_utc": "", "retained": []}',
    '{"house_id": "ab", "number": -1, "wall_utc": "", "retained": []}',
    '{"house_id": "ab", "number": 1, "wall_utc": "", "retained": [2]}'])
def test_one_that_makes_no_sense_is_told_and_begins_anew(tmp_path, text, caplog):
    path = tmp_path / "mark"
    path.write_text(text)
    assert read_mark(path).number is None
    assert str(path) in caplog.text


def test_a_disk_that_takes_nothing_is_told_by_the_answer(tmp_path):
    assert not write_mark(tmp_path / "no folder" / "mark", Mark())
