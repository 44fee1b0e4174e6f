"""The demonstration's folder: made, filled with the invented studio, and set up for one more firing."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.events import Alert
from daemon.notify.sends_nothing import MARK as NOTHING_SENT
from daemon.notify.sends_nothing import WORDS as NOTHING_SENT_WORDS
from daemon.service.state_reader import FILE_NAME as STATE_FILE
from daemon.settings.config import read_config
from daemon.store import alerts, firing_list, firings, pieces, readings, requests
from daemon.store.database import FILE_NAME as DATABASE
from daemon.store.database import create_database, open_database
from daemon.store.firings import Firing
from simulations.plant.builds import PRESETS
from simulations.studio.seed import (
    FULL_FUSE,
    INVENTED,
    KILN_NAME,
    LIVE_PIECE,
    LIVE_TITLE,
    REHEARSAL_TITLE,
    REHEARSED,
    THICKNESS_MM,
    plan_id,
    seed_studio,
)

MARK = "demonstration.txt"
_MARK_TEXT = "A demonstration of Lehrling: everything in this folder is invented and may be deleted.\n"
PRICE = 0.3
"""What the invented studio pays for a kilowatt hour [€]. [chosen: a household's, roughly]"""
_REQUEST_VALID_S = 3600.0
"""A request to the daemon is good for this long [s]. [chosen: the daemon takes it within seconds]"""


@dataclass(frozen=True)
class DemoOptions:
    """What the demonstration is to show.

    Attributes
    ----------
    folder
        Its data folder.
    kiln
        A kiln of the bench.
    faults
        What goes wrong, as spelt.
    seed
        The same seed gives the same firing.
    url_file
        A file with the address alerts are sent to; None sends none.
    rehearsal
        Whether it is one for the owner's own page: a short firing, and no invented past.
    like
        A settings file whose units, time zone and channels are taken; None takes none.
    """

    folder: Path
    kiln: str
    faults: Sequence[str]
    seed: int
    url_file: Path | None = None
    like: Path | None = None
    rehearsal: bool = False

    @property
    def plan(self) -> str:
        """Return the plan that is fired, as TOML."""
        return REHEARSED if self.rehearsal else FULL_FUSE

    @property
    def run_dir(self) -> Path:
        """Return where the state file goes."""
        return self.folder / "run"


def default_folder() -> Path:
    """Return where a demonstration lives if nothing else is said: the user's state folder."""
    home = os.environ.get("XDG_STATE_HOME", "")
    return (Path(home) if home else Path.home() / ".local" / "state") / "lehrling-demo"


class DemoFolder:
    """The folder of one demonstration.

    Parameters
    ----------
    options
        What it is to show.
    now_utc
        The invented past lies before this.

    Raises
    ------
    BadInput
        Where the folder is somebody else's or can't be written.
    """

    def __init__(self, options: DemoOptions, now_utc: datetime) -> None:
        self.options = options
        self._path = options.folder / DATABASE
        try:
            self._make_folder()
            self._request_id = self._prepare(now_utc)
        except OSError as err:
            raise BadInput(
                f"--data {options.folder}", f"can't be written: {err.strerror or err}.",
                "Give a folder you may write, with room in it.",
            ) from None
        except sqlite3.Error as err:
            raise BadInput(
                str(self._path), f"can't be used: {err}.",
                "End the demonstration that still runs there, or delete the folder.",
            ) from None

    def outcome(self) -> tuple[str | None, Firing | None]:
        """Return what became of the start request, None while it waits, and the firing that runs."""
        with self._database() as db:
            asked = requests.request(db, self._request_id)
            running = next((row.firing for row in firing_list.matching(db, 1) if row.firing.ended_s is None), None)
            return (asked.outcome if asked else None), running

    def has_ended(self, firing_id: int | None) -> bool:
        """Return whether the firing has ended."""
        with self._database() as db:
            found = firings.firing(db, firing_id or 0)
            return found is None or found.ended_s is not None

    def alerts(self, firing_id: int | None) -> list[Alert]:
        """Return the alerts of the firing."""
        with self._database() as db:
            return alerts.alerts(db, firing_id or 0)

    def ask_end(self, firing_id: int | None, now_utc: datetime) -> None:
        """Ask the daemon to end the firing."""
        with self._database() as db:
            requests.put(db, "end", {"firing_id": firing_id}, now_utc, _REQUEST_VALID_S)

    @contextmanager
    def _database(self) -> Iterator[sqlite_utils.Database]:
        """Open the demonstration's database for a while."""
        db = open_database(self._path)
        try:
            yield db
        finally:
            db.close()

    def _make_folder(self) -> None:
        """Make the folder, or take one that is a demonstration's; write mark and settings."""
        folder = self.options.folder
        if folder.exists() and not folder.is_dir():
            raise BadInput(f"--data {folder}", "is no folder.", "Give a folder, or a new name for one.")
        folder.mkdir(parents=True, exist_ok=True)
        if not (folder / MARK).exists() and any(folder.iterdir()):
            raise BadInput(
                f"--data {folder}", "holds something that is no demonstration.",
                "Give an empty folder or a new name, so that no real record is mixed with invented ones.",
            )
        (folder / MARK).write_text(_MARK_TEXT, encoding="utf-8")
        self.options.run_dir.mkdir(exist_ok=True)
        for left in (folder / "bench.json", self.options.run_dir / STATE_FILE):
            left.unlink(missing_ok=True)
        self._mark_sending(folder / NOTHING_SENT)
        (folder / "lehrling.toml").write_text(_settings(self.options), encoding="utf-8")

    def _mark_sending(self, mark: Path) -> None:
        """Say in the folder whether its messages are sent: to an address given, or by the page of a rehearsal."""
        if self.options.url_file is None and not self.options.rehearsal:
            mark.write_text(f"{NOTHING_SENT_WORDS}\n", encoding="utf-8")
        else:
            mark.unlink(missing_ok=True)

    def _prepare(self, now_utc: datetime) -> int:
        """Fill the database, end what an earlier demonstration left open, and ask for the start."""
        db = create_database(self._path)
        try:
            if self.options.rehearsal:
                pieces.add_piece(db, name=LIVE_PIECE, glass="90", thickness_mm=THICKNESS_MM, layers="", note=INVENTED,
                                 now_utc=now_utc)
            elif not pieces.pieces(db):
                seed_studio(db, now_utc)
            for row in firing_list.matching(db, 5):
                if row.firing.ended_s is None:
                    last = readings.last(db, row.firing.firing_id)
                    end_s = last.t_s if last else 0.0
                    firings.end_firing(db, row.firing.firing_id, end_s, now_utc, "next")
            for old in requests.pending(db):
                requests.settle(db, old.request_id, "left over from an earlier demonstration", now_utc)
            load = [piece.piece_id for piece in pieces.pieces(db) if piece.name == LIVE_PIECE]
            return requests.put(db, "start", {
                "title": REHEARSAL_TITLE if self.options.rehearsal else LIVE_TITLE, "piece_ids": load,
                "plan_id": plan_id(db, self.options.plan, now_utc),
                "glass": "90", "thickness_mm": THICKNESS_MM, "faces": 1,
            }, now_utc, _REQUEST_VALID_S)
        finally:
            db.close()


def _settings(options: DemoOptions) -> str:
    """Return the settings of the demonstration's services."""
    probe = {
        "kind": "bench", "kiln": options.kiln, "seed": options.seed, "plan": options.plan,
        "faults": list(options.faults),
    }
    lines = ["# Written by lehrling demo at every start.", "[kiln]", f"name = {_quoted(KILN_NAME)}",
             f"power_kw = {PRESETS[options.kiln].power_w / 1000}", f"price_per_kwh = {PRICE}", 'currency = "€"', ""]
    lines += ["[probe]", *(f"{key} = {_quoted(value)}" for key, value in probe.items())]
    if options.url_file is not None:
        lines += ["", "[[channel]]", 'name = "demo"', f"url_file = {_quoted(str(options.url_file.resolve()))}"]
    return "\n".join(lines) + "\n" + (_like(options.like) if options.like is not None else "")


def _like(file: Path) -> str:
    """Return the owner's units, time zone, whom to call and channels from a settings file, for a rehearsal."""
    config = read_config(file)
    lines = ["", "[owner]", f"unit = {_quoted(config.unit)}", f"thickness_unit = {_quoted(config.thickness_unit)}"]
    if config.time_zone is not None:
        lines.append(f"time_zone = {_quoted(config.time_zone)}")
    if config.whom_to_call:
        lines.append(f"whom_to_call = {_quoted(config.whom_to_call)}")
    for channel in config.channels:
        lines += ["", "[[channel]]", f"name = {_quoted(channel.name)}",
                  f"url_file = {_quoted(str(Path(channel.url_file).resolve()))}",
                  f"ranks = {_quoted([rank.value for rank in channel.ranks])}"]
    return "\n".join(lines) + "\n"


def _quoted(value: object) -> str:
    """Return a value as TOML has it."""
    # JSON texts, whole numbers and lists of texts are the same in TOML.
    return json.dumps(value, ensure_ascii=False)
