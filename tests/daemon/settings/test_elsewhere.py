"""How places for copies are spelt, and what is refused."""

import pytest

from daemon.errors import BadInput
from daemon.settings.config import parse_config
from daemon.settings.elsewhere import read_place


@pytest.mark.parametrize(("text", "kind", "called"), [
    ("usb:KILN", "usb", "the stick KILN"), ("usb:My kiln", "usb", "the stick My kiln"),
    ("/mnt/nas/kiln/", "folder", "the folder /mnt/nas/kiln"), ("restic:offsite", "restic", "restic’s offsite"),
    ("rclone:nas:kiln/copies", "rclone", "rclone’s nas:kiln/copies"), ("rclone:nas:", "rclone", "rclone’s nas:")])
def test_each_way_is_spelt_and_called(text, kind, called):
    place = read_place(text)
    assert (place.kind, place.called) == (kind, called)
    assert read_place(place.spelt) == place


@pytest.mark.parametrize("text", [
    "", "KILN", "usb:", "usb:a/b", "usb: a", "ftp:x", "/", "/mnt/../etc", "restic:", "restic:../x", "restic:a b",
    "rclone:nas", "rclone::local:/etc", "rclone::sftp,ssh=sh:x", "rclone:nas,ssh=sh:x", "rclone:--config:x",
    "rclone:nas:../x", "mnt/nas"])
def test_what_names_no_place_is_refused_with_how_it_is_spelt(text):
    with pytest.raises(BadInput) as caught:
        read_place(text)
    assert caught.value.remedy


def test_the_settings_name_each_that_is_wrong(tmp_path):
    with pytest.raises(BadInput, match=r"\[copies\] elsewhere: .?KILN.? is no.*\n.*\[copies\] elsewhere: .?ftp"):
        parse_config('[copies]\nelsewhere = ["KILN", "usb:KILN", "ftp:x"]', "lehrling.toml", tmp_path)
    with pytest.raises(BadInput, match=r"\[copies\] every: unknown key"):
        parse_config("[copies]\nevery = 3", "lehrling.toml", tmp_path)
    config = parse_config('[copies]\nelsewhere = ["usb:KILN", "/mnt/nas", "usb:KILN"]', "x", tmp_path)
    assert [place.spelt for place in config.copies] == ["usb:KILN", "/mnt/nas"]


def test_more_than_eight_places_are_refused(tmp_path):
    with pytest.raises(BadInput, match="9 places are too many"):
        parse_config(f"[copies]\nelsewhere = {[f'usb:K{n}' for n in range(9)]}", "x", tmp_path)
