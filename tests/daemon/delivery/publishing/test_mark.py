"""The mark outlives a restart; one that makes no sense stops nothing."""

import pytest

from daemon.delivery.publishing.mark import Mark, of_this_computer, read_mark, this_computer, write_mark


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


def test_of_two_computers_with_a_copied_mark_the_second_gets_an_id_of_its_own_and_is_told(caplog):
    mark = of_this_computer(Mark("0a1b2c3d", 12, "2026-11-25T02:10:00.000Z", ("a/state",)), "first")
    assert (mark.house_id, mark.computer, caplog.text) == ("0a1b2c3d", "first", "")
    assert of_this_computer(mark, "first") == mark
    assert of_this_computer(mark, "") == mark, "where nothing tells computers apart"
    copied = of_this_computer(mark, "second")
    assert copied.house_id != mark.house_id
    assert (copied.number, copied.wall_utc, copied.computer) == (12, mark.wall_utc, "second")
    assert copied.retained == (), "what the first one retains is not taken back"
    assert "give one of them a topic of its own: lehrling settings set mqtt.topic" in caplog.text


def test_computers_are_told_apart_by_their_own_number_before_that_of_the_installation(tmp_path):
    assert this_computer(tmp_path) == ""
    (tmp_path / "etc").mkdir()
    (tmp_path / "etc" / "machine-id").write_text("11aa\n")
    of_the_card = this_computer(tmp_path)
    (tmp_path / "proc" / "device-tree").mkdir(parents=True)
    (tmp_path / "proc" / "device-tree" / "serial-number").write_bytes(b"10000000abcdef\x00")
    of_the_pi = this_computer(tmp_path)
    assert len({"", of_the_card, of_the_pi}) == 3
    assert "abcdef" not in of_the_pi
