"""A truncated, hostile or foreign archive is refused whole, in a sentence; record and photographs are as before."""

from __future__ import annotations

import json
import os
import shutil
import zipfile
from hashlib import sha256

import pytest

from daemon.archive import source as source_module
from daemon.archive.source import open_archive
from daemon.archive.take_in import check_all, take_in
from daemon.errors import BadInput

from .conftest import MARK, NOW

FIRING, CSV = "firings/000001/firing.json", "firings/000001/readings.csv"


@pytest.fixture
def refused(box):
    """Return a function that has an archive refused, by verify and by import, and returns the sentence."""
    other = box("other")
    other.fire("Tray", "boot-z")

    def look(path):
        before = other.dump()
        with pytest.raises(BadInput) as by_import:
            other.take(path)
        with pytest.raises(BadInput) as by_verify, open_archive(path) as source:
            check_all(source)
        assert other.dump() == before
        assert by_import.value.text == by_verify.value.text
        assert by_import.value.remedy
        return by_import.value.text
    return look


def rewrite(archive, name, body):
    """Write a file of an archive and name its digest in the head, as somebody would who knows how."""
    (archive / name).parent.mkdir(parents=True, exist_ok=True)
    (archive / name).write_bytes(body)
    head = json.loads((archive / "archive.json").read_text())
    head["files"][name] = {"bytes": len(body), "sha256": sha256(body).hexdigest()}
    (archive / "archive.json").write_text(json.dumps(head))


def change(archive, name, how):
    """Change the JSON of a file in an archive."""
    value = json.loads((archive / name).read_text())
    how(value)
    rewrite(archive, name, json.dumps(value).encode())


def zipped(archive, out, extra=(), top=""):
    """Write an archive as a zip, with further entries as (ZipInfo or name, body)."""
    with zipfile.ZipFile(out, "w") as whole:
        for path in sorted(archive.rglob("*")):
            if path.is_file():
                whole.write(path, top + path.relative_to(archive).as_posix())
        for name, body in extra:
            whole.writestr(name, body)
    return out


def link_entry():
    info = zipfile.ZipInfo("firings/000003/firing.json")
    info.external_attr = 0o120777 << 16
    return info


@pytest.mark.parametrize(("name", "said"), [
    ("../outside", "no file of an archive has such a name"), ("/etc/passwd", "no file of an archive has such a name"),
    ("C:\\outside", "no file of an archive has such a name"),
    ("firings/000001/../../x", "no file of an archive has such a name"),
    ("photographs/\u00e9.jpg", "no file of an archive has such a name"),
    ("firings/000001/firing.json\n", "no file of an archive has such a name"),
    (link_entry(), "is a link"), ("firings/000009/firing.json", "is not in the list"),
])
def test_a_zip_with_a_name_or_a_kind_that_could_do_harm(archive, refused, tmp_path, name, said):
    assert said in refused(zipped(archive, tmp_path / "x.zip", [(name, b"x")]))


def test_a_name_twice(archive, refused, tmp_path):
    with pytest.warns(UserWarning, match="Duplicate"):
        made = zipped(archive, tmp_path / "x.zip", [(FIRING, b"{}")])
    assert f"{FIRING}: is in it twice." in refused(made)


def test_a_zip_that_grows_without_end(archive, refused, tmp_path, monkeypatch):
    monkeypatch.setattr(source_module, "MOST_BYTES", 100_000)
    body = b"0" * 200_000
    rewrite(archive, CSV, body)
    with zipfile.ZipFile(tmp_path / "x.zip", "w", zipfile.ZIP_DEFLATED) as whole:
        for path in sorted(path for path in archive.rglob("*") if path.is_file()):
            whole.write(path, path.relative_to(archive).as_posix())
    assert "is too much" in refused(tmp_path / "x.zip")


def test_a_zip_that_says_less_than_it_holds(archive, refused, tmp_path):
    made = zipped(archive, tmp_path / "x.zip")
    body = bytearray(made.read_bytes())
    size = (archive / CSV).stat().st_size.to_bytes(4, "little")
    assert body.count(size + size) >= 2
    made.write_bytes(body.replace(size + size, size + (7).to_bytes(4, "little")))
    refused(made)


def test_too_many_files(archive, refused, monkeypatch):
    monkeypatch.setattr(source_module, "MOST_FILES", 5)
    assert "is too much" in refused(archive)


@pytest.mark.parametrize("kept", [0, 1, 100, 0.5, 0.9, -1])
def test_a_zip_cut_short(archive, refused, tmp_path, kept):
    made = zipped(archive, tmp_path / "x.zip")
    body = made.read_bytes()
    made.write_bytes(body[:int(kept * len(body)) if isinstance(kept, float) else kept])
    assert "is no archive, or cut short" in refused(made)


@pytest.mark.parametrize("name", [FIRING, CSV, "studio.json", "README.txt", f"photographs/{MARK}-whole.jpg"])
def test_a_file_that_is_missing_or_has_other_bytes(archive, refused, name):
    body = (archive / name).read_bytes()
    (archive / name).write_bytes(body[:-1] + b"?")
    assert f"{name}: holds other bytes than were written into it." in refused(archive)
    (archive / name).write_bytes(body + b"?")
    assert name in refused(archive)
    (archive / name).unlink()
    assert f"{name}: is missing." in refused(archive)


def test_links_in_a_folder(archive, refused, tmp_path):
    (tmp_path / "secret").write_text("secret")
    (archive / "README.txt").unlink()
    (archive / "README.txt").symlink_to(tmp_path / "secret")
    assert "README.txt: is a link" in refused(archive)
    (archive / "README.txt").unlink()
    os.mkfifo(archive / "README.txt")
    assert "README.txt: is a link or a device" in refused(archive)
    (archive / "README.txt").unlink()
    shutil.move(archive / "firings", tmp_path / "firings")
    (archive / "firings").symlink_to(tmp_path / "firings")
    assert "firings: " in refused(archive)


def test_what_is_no_archive(refused, tmp_path):
    (tmp_path / "empty").mkdir()
    assert "has no archive.json" in refused(tmp_path / "empty")
    assert "there is no such file or folder" in refused(tmp_path / "nothing")
    (tmp_path / "text").write_text("hello")
    assert "is no archive" in refused(tmp_path / "text")
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as whole:
        whole.writestr("photo.png", b"x")
    assert "no file of an archive has such a name" in refused(tmp_path / "x.zip")


def test_a_newer_format(archive, refused):
    head = json.loads((archive / "archive.json").read_text())
    (archive / "archive.json").write_text(json.dumps({**head, "version": 3, "new": True}))
    said = refused(archive)
    assert "is of version 3 of the format; version 2 is known here. Update Lehrling first" in said


@pytest.mark.parametrize(("body", "said"), [
    (b"", "is no JSON"), (b"[1]", "is array, not object"), (b"{", "is no JSON"), (b"\xff", "is no JSON"),
    (b"[" * 100_000, "is nested too deeply"), (b'{"a": 1, "a": 2}', "a name is there twice"),
    (b'{"number": NaN}', "NaN is no number in JSON"), (b"null", "not object"), (b"9" * 5000, "is no JSON"),
])
def test_json_that_is_none(archive, refused, body, said):
    rewrite(archive, FIRING, body)
    assert said.replace("is array", "is [1]") in refused(archive)


@pytest.mark.parametrize(("name", "how", "said"), [
    (FIRING, lambda one: one.pop("note"), "note is missing"),
    (FIRING, lambda one: one.update(new=1), "new is unknown"),
    (FIRING, lambda one: one["firing"].update(faces=3), "firing.faces is 3, none of 1, 2"),
    (FIRING, lambda one: one["firing"].update(started_utc="yesterday"), "firing.started_utc is 'yesterday'"),
    (FIRING, lambda one: one["firing"].update(started_utc="9999-01-01T00:00:00Z"), "firing.started_utc is"),
    (FIRING, lambda one: one["firing"].update(ended_s=10**12), "firing.ended_s is 1000000000000, outside its limits"),
    (FIRING, lambda one: one["firing"].update(title="\ud800"), "firing.title is"),
    (FIRING, lambda one: one["note"][0].update(text=7), "note.1.text is 7, not string"),
    (FIRING, lambda one: one["alert"][0].update(kind="made-up"), "is of a kind that is unknown here: 'made-up'"),
    (FIRING, lambda one: one["alert"][0].update(pieces="[]"), "what it said in pieces can't be read"),
    (FIRING, lambda one: one["judgement"][0].update(told="[]"), "a verdict is no JSON object"),
    (FIRING, lambda one: one.update(kiln=9), "kiln 9 is not in studio.json"),
    (FIRING, lambda one: one.update(plan=None), "plan None is another one than it was fired by"),
    (FIRING, lambda one: one["pieces"].append(9), "piece 9 is not in studio.json"),
    (FIRING, lambda one: one.update(number=7), "is of number 7, and lies in firings/000001"),
    (FIRING, lambda one: one["gap"].append(one["gap"][0]), "rows that can't stand side by side"),
    ("studio.json", lambda one: one["plans"][0].update(toml="title = 1"), "plan 1"),
    ("studio.json", lambda one: one["pieces"][0].update(glass="[glass]"), "its glass"),
    ("studio.json", lambda one: one["pieces"].append(one["pieces"][0]), "has two rows of one piece number"),
])
def test_values_that_cannot_be(archive, refused, box, name, how, said):
    change(archive, name, how)
    if "side by side" in said:  # only the record itself finds that
        other = box("third")
        before = other.dump()
        with pytest.raises(BadInput, match=said):
            other.take(archive)
        assert other.dump() == before
        return
    assert said in refused(archive)


@pytest.mark.parametrize(("row", "said"), [
    ("60,2620,64,128,,20.5,", "row 3: celsius '20.5' is not 2620 steps of 1/128 °C"),
    ("0,2560,64,128,,20.0,", "row 3: second 0 comes after second 0"), ("60,2560", "row 3: has 2 fields of 7"),
    ("x,2560,64,128,,20.0,", "row 3: "), ("60,999999999,,,,7812499.9921875,", "row 3: 7812500 °C can't be read"),
    ("60,,,,9,,", "row 3: fault '' is not the one of its code"), ("60,2560,-1,128,,20.0,", "row 3: how far"),
    ("99999999999,2560,,,,20.0,", "row 3: second 99999999999 is outside"), (f"60,{'9' * 50},,,,1,", "row 3: "),
])
def test_readings_that_cannot_be(archive, refused, row, said):
    lines = (archive / CSV).read_text().splitlines()
    lines[2] = row
    rewrite(archive, CSV, "\r\n".join(lines).encode())
    assert f"{CSV}: {said}" in refused(archive)


def test_a_chain_that_does_not_hold_is_named_with_its_ten_minutes(archive, refused):
    lines = (archive / CSV).read_text().splitlines()
    del lines[15]
    rewrite(archive, CSV, "\r\n".join(lines).encode())
    assert f"{FIRING}: is not as it was kept. The readings from 0:10 to 0:20 (20:10 to 20:20) were changed. The " \
           "record here is as it was." in refused(archive)


def test_a_picture_that_is_another_one(archive, refused):
    rewrite(archive, f"photographs/{MARK}-whole.jpg", b"\xff\xd8 another")
    assert "is another picture than its name says" in refused(archive)
    rewrite(archive, f"photographs/{MARK}-small.jpg", b"<svg>")
    assert f"{MARK}-small.jpg: is no JPEG." in refused(archive)


def test_an_import_that_breaks_off_half_way_leaves_nothing(archive, box):
    other = box("third")
    before, passes = other.dump(), []

    def progress(found):
        passes.append(found)
        for number, one in enumerate(found):
            if len(passes) == 2 and number == 1:
                raise OSError(28, "No space left on device")
            yield one

    with open_archive(archive) as source, other.db() as db, pytest.raises(OSError, match="No space"):
        take_in(source, db, other.folder, NOW, progress)
    assert len(passes) == 2
    rows, pictures = other.dump()
    assert (rows, pictures) == (before[0], {})


def test_a_zip_of_the_folder_as_other_programs_pack_it_is_taken(archive, box, tmp_path):
    made = zipped(archive, tmp_path / "x.zip", [("my firings/firings/", b"")], top="my firings/")
    assert box("other").take(made).numbers == {1: 1, 2: 2}


def test_every_single_damaged_byte_of_a_zip_is_refused_or_does_no_harm(archive, box, tmp_path):
    made = zipped(archive, tmp_path / "x.zip")
    body = made.read_bytes()
    with open_archive(made) as source:
        sound = check_all(source)
    refused = 0
    for at in range(0, len(body), len(body) // 150):
        made.write_bytes(body[:at] + bytes([body[at] ^ 0x55]) + body[at + 1:])
        try:
            with open_archive(made) as source:
                assert check_all(source) == sound  # a byte that says nothing, such as the time of a file
        except BadInput:
            refused += 1
    assert refused > 75


SOURCE = "firings/000001/source.csv"


def test_another_file_in_the_place_of_the_one_a_firing_was_taken_in_from(archive, refused):
    rewrite(archive, SOURCE, b"s;C\n0;21\n")
    assert f"{SOURCE}: is another file than the one that the firing was taken in from" in refused(archive)


def test_a_file_of_another_logger_that_is_lost_or_belongs_to_no_firing(archive, refused):
    head = json.loads((archive / "archive.json").read_text())
    del head["files"][SOURCE]
    (archive / "archive.json").write_text(json.dumps(head))
    kept = (archive / SOURCE).read_bytes()
    (archive / SOURCE).unlink()
    assert f"{SOURCE}: is missing" in refused(archive)
    rewrite(archive, SOURCE, kept)
    change(archive, FIRING, lambda it: it.update(source=None))
    assert f"{SOURCE}: belongs to no firing" in refused(archive)


@pytest.mark.parametrize(("harm", "said"), [
    (lambda it: it["outcome"][0].update(words=["haze"]), "Outcome 1 was changed after it was kept."),
    (lambda it: it["gap"].clear(), "The gap at second 0 is missing."),
    (lambda it: it["meter_reading"][0].update(kwh=9.0), "What a meter showed was changed after it was kept."),
    (lambda it: it["clock_mark"][0].update(synchronised=0),
     "What the clock said at second 0 was changed after it was kept."),
    (lambda it: it["outcome"][0].update(piece_made_utc="2026-03-02T20:00:00.000Z"), "not of piece 1"),
    (lambda it: it["source"].update(bytes=9 * 2**20), "source.bytes is 9437184, outside its limits"),
])
def test_what_joined_the_chain_is_held_against_it(archive, refused, harm, said):
    change(archive, FIRING, harm)
    assert said in refused(archive)
