"""A studio whose firings were judged, without being simulated."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from daemon.store import firings, found_parts, judgements, kilns, outcomes, pieces, plans
from daemon.store.database import transaction


def plan_toml(title: str, top_c: float) -> str:
    return f'title = "{title}"\nunit = "C"\n\n[[step]]\nrate = 200\nto = {top_c}\nhold_min = 15\npurpose = "top"\n'


@pytest.fixture
def judged(studio) -> Callable[..., int]:
    """Return a function that keeps a firing of a piece with its peak [°C], time above 760 °C [s] and outcome."""
    studio.open_store().close()
    kept: dict[str, int] = {}

    def keep(peak_c: float | None, *, plan: str = "Slump", top_c: float = 650.0, piece: str = "Bowl",
             glass: str = "90", words: tuple[str, ...] = (), whole: tuple[str, ...] = (),
             above_s: float | None = 600.0, day: int = 0, hold_c: float | None = None, judge: bool = True) -> int:
        db = studio.open_store()
        with transaction(db):
            now = studio.clock.wall + timedelta(days=day or -100 + len(kept) + db.table("firing").count)
            kiln = kilns.kiln_id(db, "small kiln")
            if piece not in kept:
                kept[piece] = pieces.add_piece(db, name=piece, glass=glass, thickness_mm=6.0, now_utc=now)
            number = firings.open_firing(
                db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "p", "K"), title=f"{piece}, {plan}",
                opened_by="maker", started_utc=now, boot_id="b", clock_s=0.0, piece_ids=[kept[piece]],
                plan_id=plans.add_plan(db, plan_toml(plan, top_c), now))
            if hold_c is not None:
                from daemon.firing.events import Part

                found_parts.replace_parts(db, number, [Part(1, 1, "hold", 10_000.0, 10_900.0, 0.0, hold_c)])
            firings.end_firing(db, number, 30_000.0, now, "maker")
            if judge:
                judgements.add_judgement(db, number, {
                    "peak_c": peak_c, "finished": True, "glass": {"time_above_s": {"620": 900.0, "760": above_s}}},
                    "0", now)
            for said, of in ((words, kept[piece]), (whole, None)):
                if said:
                    outcomes.add_outcome(db, firing_id=number, piece_id=of, words=said, place="", note="",
                                         now_utc=now)
        db.close()
        return number

    return keep
