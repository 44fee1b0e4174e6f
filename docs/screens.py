"""Takes the README's pictures of the page: the demonstration in Chromium, on a phone by night and a desk by day.

    python docs/make.py --screens    take both pictures, and note in README.md which version they show

It runs ``lehrling demo`` with its invented studio in a folder that is deleted afterwards, waits until the first
alert has woken, and photographs the page. It needs the test parts and Debian's ``chromium``, and takes five minutes.
"""

from __future__ import annotations

import json
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from PIL import Image

FAULT = "power-cut@step4:hold+15min"
"""What goes wrong: the power fails for good a quarter of an hour into the anneal hold."""
SPEED = 100
LONGEST_S = 480.0
"""How long the demonstration may take to wake [s]; at that speed the power fails after about four minutes."""
LOOKS = {
    "page-phone.png": {"viewport": {"width": 390, "height": 844}, "color_scheme": "dark", "is_mobile": True,
                       "has_touch": True, "device_scale_factor": 1.5},
    "page-desktop.png": {"viewport": {"width": 1120, "height": 860}, "color_scheme": "light"},
}
COLOURS = 64
"""Enough for flat areas, lines and letters, and a third of the bytes."""
CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"


def take(folder: Path) -> None:
    """Write the pictures of LOOKS into ``folder``."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play, tempfile.TemporaryDirectory() as studio:
        # Started first: at this speed an alert stands for seconds only.
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--headless", "--no-sandbox", "--disable-gpu"])
        with _demonstration(Path(studio)) as address:
            _wait_for_wake(Path(studio))
            for name, look in LOOKS.items():
                photograph(browser.new_page(reduced_motion="reduce", **look), address, folder / name)
        browser.close()


@contextmanager
def _demonstration(studio: Path) -> Iterator[str]:
    """Run the demonstration with its data in ``studio``; give the address of its page."""
    port = _free_port()
    run = "import sys; from daemon.cli import main; sys.exit(main())"
    with (studio / "demo.log").open("wb") as log:
        demo = subprocess.Popen(
            [sys.executable, "-c", run, "demo", "--data", str(studio / "data"), "--port", str(port),
             "--speed", str(SPEED), "--fault", FAULT], stdin=subprocess.DEVNULL, stdout=log, stderr=log)
        try:
            yield f"http://127.0.0.1:{port}/"
        finally:
            demo.send_signal(signal.SIGTERM)
            demo.wait(30)


def _free_port() -> int:
    """Return a port of this machine that nobody listens on."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


def _wait_for_wake(studio: Path) -> None:
    """Wait until the daemon's state file holds an alert of rank wake."""
    for _ in range(int(LONGEST_S * 5)):
        for path in studio.rglob("present.json"):
            present = json.loads(path.read_text(encoding="utf-8"))
            if any(alert["rank"] == "wake" for alert in present["alerts"]):
                return
        time.sleep(0.2)
    log = (studio / "demo.log").read_text(encoding="utf-8", errors="replace")
    raise SystemExit(f"the demonstration woke nobody within {LONGEST_S:.0f} s:\n{log}")


def photograph(page: Any, address: str, picture: Path) -> None:
    """Keep what ``page`` shows on its screen at an address."""
    page.goto(address)
    wait_for_plot(page)
    keep(page, picture)


def keep(page: Any, picture: Path) -> None:
    """Keep what ``page`` shows on its screen now, in few colours."""
    page.screenshot(path=picture)
    with Image.open(picture) as taken:
        taken.convert("RGB").quantize(COLOURS).save(picture, optimize=True)


def wait_for_plot(page: Any) -> None:
    """Wait until the interactive plot has taken the place of the drawn one; it stays where scripts are slow."""
    for _ in range(100):
        if page.evaluate("document.querySelector('.plotted .plot .main-svg') !== null"):
            return
        page.wait_for_timeout(50)


if __name__ == "__main__":
    take(Path(__file__).parent)
