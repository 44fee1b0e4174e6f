"""Hold each process of Lehrling still (SIGSTOP) for a while: whether the others say it, and all is there afterwards.

    python -m benchmarks.trials stopped [--short]

Daemon, page and delivery run on a recorded kiln that climbs past its plan's top, sped up, with a web hook on loopback
as the only channel. The trial takes the part of systemd: it hears each service's signs of life, and one that gives
none for as long as its unit's WatchdogSec is killed and started again.

1. Delivery and page stand still while the alert rises. Afterwards the message arrives, once, and the page answers.
2. The daemon stands still, shorter than the watchdog allows. Where that is longer than 15 s, the page says that
   nothing is watched. Afterwards there is no gap, for a bench waits for its daemon.
3. All three stand still until the watchdog ends them. Started again, the daemon goes on with the same firing and
   tells the gap, delivery sends that, and the page answers.

In the end the stored readings judged once more give the stored alerts, and every message arrived once, in order.
``--short`` takes 1 s for the watchdog's time, and less in the other cases.
"""

from __future__ import annotations

import signal
from pathlib import Path
from time import perf_counter, sleep

from benchmarks.kill_loop import judged_again
from benchmarks.trials.house import PATIENCE_S, SERVICES, SPEED, House, watchdog_s
from daemon.store import alerts, firing_list
from daemon.store.database import FILE_NAME, open_database

_SILENT_S = 20.0
"""How long the daemon stands still in the second case [s]: longer than the page takes for the present."""
_SAYS_IT_S = 15.0
"""From so long a silence on the page says that nothing is watched [s]."""


def _stop_delivery_and_page(house: House, still_s: float) -> None:
    """Hold both still while the alert rises."""
    house.until(house.page, "the page answers")
    for name in ("deliver", "web"):
        house.claim(house.signs[name].come(PATIENCE_S), f"{name} gives signs of life")
    house.tell(signal.SIGSTOP, "deliver", "web")
    house.start("daemon")
    house.until(lambda: house.present()["alerts"], "the alert rises though nobody delivers")
    house.claim(house.page(1.0) is None, "a page that stands still does not answer")
    sleep(still_s)
    house.claim(not house.hook.taken, "no message goes while delivery stands still")
    house.tell(signal.SIGCONT, "deliver", "web")
    house.until(lambda: house.hook.taken, "the message arrives afterwards")
    house.until(lambda: (house.page() or {}).get("rings"), "the page answers and rings")


def _stop_daemon_for_a_while(house: House, still_s: float) -> None:
    """Hold the daemon still for less than the watchdog's time."""
    signs = house.signs["daemon"]
    house.tell(signal.SIGSTOP, "daemon")
    before = house.present()["t_s"]
    house.claim(not signs.come(still_s), "a daemon that stands still gives no sign of life")
    if still_s > _SAYS_IT_S:
        shown = house.page()
        house.claim(shown and "Nothing is being watched" in shown["texts"]["stale"], "the page says so")
    house.tell(signal.SIGCONT, "daemon")
    house.claim(signs.come(PATIENCE_S), "it gives signs of life again")
    house.until(lambda: house.present()["t_s"] > before + 60, "the watch goes on")
    db = open_database(house.folder / FILE_NAME, readonly=True)
    house.claim(db.execute("SELECT count(*) FROM gap").fetchone()[0] == 0, "there is no gap")
    db.close()


def _stop_all_for_good(house: House, dog_s: float) -> dict[str, float]:
    """Hold all still until the watchdog ends them; return how soon after that each is back [s]."""
    before = house.present()
    house.tell(signal.SIGSTOP, *SERVICES)
    heard = {name: house.signs[name].count for name in SERVICES}
    sleep(dog_s)
    for name in SERVICES:
        house.claim(house.signs[name].count == heard[name], f"{name} gives no sign of life for the watchdog's time")
    began = perf_counter()
    for name in SERVICES:
        house.start(name)
    back_s = {}
    for name in SERVICES:
        house.claim(house.signs[name].come(PATIENCE_S), f"{name}, started again, gives signs of life")
        back_s[name] = round(perf_counter() - began, 1)
    house.until(lambda: house.stored_s() > before["t_s"] + dog_s * SPEED, "the watch goes on")
    back_s["watch"] = round(perf_counter() - began, 1)
    house.claim(house.present()["firing_id"] == before["firing_id"], "it is the same firing")
    house.until(house.page, "the page answers again")
    return back_s


def _look_afterwards(house: House) -> dict[str, object]:
    """End all and hold the record against what was told; return figures."""
    house.until(lambda: len(house.hook.taken) >= 1, "messages")
    house.tell(signal.SIGTERM, "daemon")
    house.until(lambda: house.processes["daemon"].poll() is not None, "the daemon ends")
    db = open_database(house.folder / FILE_NAME)
    house.until(lambda: not db.execute(
        "SELECT count(*) FROM outbox LEFT JOIN delivery USING (outbox_id) WHERE sent_utc IS NULL").fetchone()[0],
        "every message is sent")
    (listed,) = firing_list.matching(db, 10)
    row = listed.firing
    steps, otherwise = judged_again(db, row)
    house.problems += otherwise
    raised = [alert.kind for alert in alerts.alerts(db, row.firing_id)]
    house.claim(sorted(raised) == ["over-temperature", "readings-missing"], f"each alert was raised once: {raised}")
    gaps = [tuple(gap) for gap in db.execute("SELECT from_s, to_s FROM gap")]
    times = {row[0] for row in db.execute("SELECT t_s FROM reading")}
    missed = {t for t in range(0, max(times), 5) if t not in times and not any(a < t < b for a, b in gaps)}
    house.claim(not missed, f"outside the gaps no reading is missing ({len(missed)} are)")
    numbers = [row[0] for row in db.execute("SELECT outbox_id FROM outbox ORDER BY outbox_id")]
    house.claim(house.hook.taken == numbers, f"messages {numbers} arrived once, in order: {house.hook.taken}")
    db.close()
    return {"readings": len(times), "gaps_s": [b - a for a, b in gaps], "alert_steps": steps, "alerts": len(raised),
            "messages": len(numbers)}


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder; return its figures, with ``problems`` among them."""
    dog_s = 1.0 if short else watchdog_s()
    house = House(scratch, dog_s)
    try:
        _stop_delivery_and_page(house, 0.2 if short else 10.0)
        _stop_daemon_for_a_while(house, 0.5 if short else _SILENT_S)
        back_s = _stop_all_for_good(house, dog_s)
        figures = _look_afterwards(house)
    finally:
        house.close()
    return {"watchdog_s": dog_s, "back_after_s": back_s, **figures, "problems": house.problems}
