"""The demonstration's folder is its own, seeded once and ready for one more firing."""

from __future__ import annotations

import sqlite3
import tomllib
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import copytree

import pytest

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.notify.sends_nothing import sends_nothing
from daemon.settings.config import read_config
from daemon.store import firing_list, firings, pieces, requests
from daemon.store.database import create_database, open_database
from daemon.store.kilns import kiln_id, probe_id
from simulations.bench import open_probe
from simulations.studio import demo_folder
from simulations.studio.demo_folder import MARK, DemoFolder, DemoOptions, default_folder
from simulations.studio.seed import FULL_FUSE, KILN_NAME, LIVE_TITLE, PAST, PIECES, REHEARSED

NOW = datetime(2026, 3, 4, 20, 15, tzinfo=UTC)


@pytest.fixture(scope="module")
def options(tmp_path_factory) -> DemoOptions:
    return DemoOptions(tmp_path_factory.mktemp("demo") / "new", "fibre-top-loader", ("open=5min@2h",), 11)


@pytest.fixture(scope="module")
def demo(options, seeded_database, tmp_path_factory) -> DemoFolder:
    """Return a folder just made; what its studio is seeded with was made before, by the same function."""
    path = tmp_path_factory.mktemp("seeded") / "lehrling.db"
    path.write_bytes(seeded_database)

    def seed(db, now_utc):
        assert now_utc == NOW
        with closing(sqlite3.connect(path)) as source:
            source.backup(db.conn)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(demo_folder, "seed_studio", seed)
        return DemoFolder(options, NOW)


def test_a_new_folder_gets_the_studio_and_a_start_request(demo, options):
    db = open_database(options.folder / "lehrling.db")
    assert len(pieces.pieces(db)) == len(PIECES)
    assert len(firing_list.matching(db)) == len(PAST)
    (asked,) = requests.pending(db)
    assert (asked.kind, asked.payload["title"], asked.payload["thickness_mm"]) == ("start", LIVE_TITLE, 6.0)
    assert asked.expires_utc > NOW
    db.close()
    assert demo.outcome() == (None, None)


def test_its_settings_are_those_the_daemon_reads_and_the_bench_opens(demo, options):
    config = read_config(options.folder / "lehrling.toml")
    assert config.probe.kind == "bench"
    assert config.probe.settings["plan"] == FULL_FUSE
    probe = open_probe(Fields(config.probe.settings, "[probe] "), lambda: 0.0)
    assert probe.plant.build.lining.name == "ceramic fibre"


@pytest.fixture
def seeded(demo, options, tmp_path) -> Path:
    """Return a folder of its own as a first demonstration left it, the studio in it."""
    return copytree(options.folder, tmp_path / "demo")


def test_a_second_demonstration_keeps_the_studio_and_ends_what_was_left_open(seeded):
    options = DemoOptions(seeded, "top-loader", (), 7)
    first = DemoFolder(options, NOW)
    db = create_database(options.folder / "lehrling.db")
    kiln = kiln_id(db, "Bench kiln (invented)")
    left = firings.open_firing(
        db, kiln_id=kiln, probe_id=probe_id(db, kiln, "bench", "K"), title="left", opened_by="maker",
        started_utc=NOW, boot_id="b", clock_s=0.0,
    )
    assert not first.has_ended(left)
    second = DemoFolder(options, NOW + timedelta(hours=1))
    assert second.has_ended(left)
    assert len(pieces.pieces(db)) == len(PIECES)
    assert len(requests.pending(db)) == 1, "an earlier request that was never taken is settled"
    db.close()


def test_a_folder_with_something_else_in_it_is_left_alone(tmp_path):
    (tmp_path / "lehrling.db").write_bytes(b"a real record")
    with pytest.raises(BadInput, match="no demonstration"):
        DemoFolder(DemoOptions(tmp_path, "top-loader", (), 7), NOW)
    assert [path.name for path in tmp_path.iterdir()] == ["lehrling.db"]


def test_a_file_in_place_of_the_folder_is_named(tmp_path):
    path = tmp_path / "file"
    path.write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match="is no folder"):
        DemoFolder(DemoOptions(path, "top-loader", (), 7), NOW)


def test_a_folder_that_cannot_be_made_is_named():
    with pytest.raises(BadInput, match=r"/proc/nowhere: can't be written"):
        DemoFolder(DemoOptions(Path("/proc/nowhere"), "top-loader", (), 7), NOW)


def test_a_spoilt_database_is_named_with_the_remedy(tmp_path):
    folder = tmp_path / "demo"
    folder.mkdir()
    (folder / MARK).write_text("", encoding="utf-8")
    (folder / "lehrling.db").write_bytes(b"no database at all, but long enough to look like one" * 20)
    with pytest.raises(BadInput, match="delete the folder"):
        DemoFolder(DemoOptions(folder, "top-loader", (), 7), NOW)


def test_a_channel_is_set_up_where_one_is_wished(seeded, tmp_path):
    url = tmp_path / "url"
    url.write_text("json://127.0.0.1:9/", encoding="utf-8")
    DemoFolder(DemoOptions(seeded, "top-loader", (), 7, url), NOW)
    table = tomllib.loads((seeded / "lehrling.toml").read_text(encoding="utf-8"))
    assert table["channel"] == [{"name": "demo", "url_file": str(url)}]
    assert not sends_nothing(seeded)
    DemoFolder(DemoOptions(seeded, "top-loader", (), 7), NOW)
    assert sends_nothing(seeded)  # what no address was given to


def test_the_default_folder_is_the_users_state_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "lehrling-demo"
    monkeypatch.delenv("XDG_STATE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert default_folder() == tmp_path / ".local" / "state" / "lehrling-demo"


def test_a_rehearsal_takes_the_owner_s_units_and_channels_and_fires_something_short(tmp_path):
    like = tmp_path / "lehrling.toml"
    like.write_text("""[kiln]
name = "Loft"
[owner]
unit = "F"
time_zone = "Europe/Vienna"
whom_to_call = "Mira, 0555 01234"
[[channel]]
name = "phone"
url_file = "phone.url"
ranks = ["wake"]
""", encoding="utf-8")
    made = DemoFolder(DemoOptions(tmp_path / "new", "clamshell", (), 7, None, like, rehearsal=True), NOW)
    config = read_config(tmp_path / "new" / "lehrling.toml")
    assert (config.unit, config.time_zone, config.kiln_name) == ("F", "Europe/Vienna", KILN_NAME)
    assert config.whom_to_call == "Mira, 0555 01234"
    [phone] = config.channels
    assert (phone.name, phone.url_file) == ("phone", tmp_path / "phone.url")
    assert config.probe.settings["plan"] == REHEARSED
    assert not sends_nothing(tmp_path / "new")  # the page sends it
    assert made.outcome() == (None, None)
