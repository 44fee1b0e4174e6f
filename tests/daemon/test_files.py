"""A file a maker hands over is read whole, or refused with its name, the reason and what to give instead."""

from __future__ import annotations

import os
import resource
import signal

import pytest

from daemon import files
from daemon.errors import BadInput
from daemon.files import read_text, write_text


def refusal(path: str) -> str:
    with pytest.raises(BadInput) as refused:
        read_text(path, what="trace")
    return refused.value.text


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "marked"])
def test_utf_8_is_read_with_or_without_a_byte_order_mark(tmp_path, mark):
    file = tmp_path / "a.csv"
    file.write_bytes(mark + b"Gr\xc3\xbc\xc3\x9fe\r\n")
    assert read_text(str(file), what="trace") == "Grüße\r\n"


def test_an_empty_file_is_empty_text(tmp_path):
    file = tmp_path / "a.csv"
    file.touch()
    assert read_text(str(file), what="trace") == ""


def test_a_missing_file_is_named(tmp_path):
    told = refusal(str(tmp_path / "night.csv"))
    assert told == f"{tmp_path / 'night.csv'}: there is no such file. Give the path of a trace."


def test_a_folder_is_no_file(tmp_path):
    assert refusal(str(tmp_path)) == f"{tmp_path}: is a folder. Give the path of a trace in it."


def test_a_file_on_the_way_is_no_folder(tmp_path):
    (tmp_path / "night").touch()
    told = refusal(str(tmp_path / "night" / "a.csv"))
    assert "can't be read: Not a directory. Give a trace that you may read." in told


@pytest.mark.parametrize("path", ["a\x00b.csv", "x" * 5000])
def test_a_name_that_can_be_none_is_told(path):
    assert "can't be read: " in refusal(path)


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to root")
def test_a_file_of_another_is_told(tmp_path):
    file = tmp_path / "a.csv"
    file.touch(mode=0)
    assert "can't be read: Permission denied" in refusal(str(file))


@pytest.mark.parametrize(("data", "row", "byte"), [
    ("one\ntwo °C\n".encode("latin-1"), 2, "0xb0"),
    ("one".encode("utf-16-le") + b"\xff", 1, "0xff"),
    (b"\xff\xfeo\x00", 1, "0xff"),
    (b"one\ntwo\nthree\n\xc3", 4, "0xc3"),
])
def test_what_is_not_utf_8_is_told_with_its_row_and_byte(tmp_path, data, row, byte):
    file = tmp_path / "a.csv"
    file.write_bytes(data)
    assert refusal(str(file)) == f"{file}, row {row}: holds a byte that is not UTF-8 ({byte}). Save it as UTF-8."


def test_a_file_without_end_is_refused(monkeypatch):
    monkeypatch.setattr(files, "LARGEST_BYTES", 1024**2)
    assert refusal("/dev/zero") == "/dev/zero: is larger than 1 MiB. Is this the trace?"


def test_text_is_written_whole_and_its_own_kind_written_anew(tmp_path):
    file = tmp_path / "out.svg"
    file.touch()
    for text in ("<svg>Grüße</svg>\n", "<svg>anew</svg>\n"):
        write_text(str(file), text, like="<svg")
        assert file.read_bytes() == text.encode()
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize("kept", ["seconds,celsius,fault\n0,20,\n", "title = 'Mine'\n", "x"])
def test_another_kind_of_file_is_never_written_over(tmp_path, kept):
    file = tmp_path / "good.csv"
    file.write_text(kept)
    with pytest.raises(BadInput) as refused:
        write_text(str(file), "<svg/>", like="<svg")
    assert refused.value.text == f"{file}: holds something else and is left as it is. Give the name of a new file."
    assert file.read_text() == kept
    assert list(tmp_path.iterdir()) == [file]


def test_what_cannot_be_finished_leaves_what_was_there(tmp_path):
    file = tmp_path / "out.svg"
    file.write_text("<svg>before</svg>")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, hard))
    try:
        with pytest.raises(BadInput, match="can't be written: File too large"):
            write_text(str(file), "<svg>" + "x" * 10_000, like="<svg")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        signal.signal(signal.SIGXFSZ, handler)
    assert file.read_text() == "<svg>before</svg>"
    assert list(tmp_path.iterdir()) == [file]


def test_a_device_is_simply_written_to():
    write_text("/dev/null", "text", like="<svg")


@pytest.mark.parametrize("where", ["nowhere/out.csv", ".", "a\x00b"])
def test_what_cannot_be_written_is_told_with_the_remedy(tmp_path, where):
    with pytest.raises(BadInput) as refused:
        write_text(str(tmp_path / where), "text", like="")
    assert refused.value.where == str(tmp_path / where)
    assert "can't be written" in refused.value.problem
    assert refused.value.remedy
