"""The bench's sounder: a file that tells when it was on, in place of a noise."""

from __future__ import annotations

from pathlib import Path

from hw.settings import Settings
from hw.sounder import Sounder, SounderError


class BenchSounder:
    """Writes a line for every switch: ``sound`` or ``silent``, ``lamp`` or ``dark``."""

    name = "bench"

    def __init__(self, path: Path) -> None:
        self._path = path
        self._path.write_text("", encoding="utf-8")

    def show(self, *, sound: bool, lamp: bool) -> None:
        """Note the switch."""
        with self._path.open("a", encoding="utf-8") as file:
            file.write(f"{'sound' if sound else 'silent'} {'lamp' if lamp else 'dark'}\n")

    def close(self) -> None:
        """Note that both are off."""
        self.show(sound=False, lamp=False)


def open_sounder(asked: Settings) -> Sounder:
    """Open the bench's sounder, which writes into ``file``.

    Raises
    ------
    SounderError
        Where ``file`` can't be written; a wrong setting raises what ``asked`` raises.
    """
    file = asked.text("file", "")
    if not file:
        asked.problem("file", "missing.", 'Write file = "sounder.log".')
    asked.finish()
    try:
        return BenchSounder(Path(file))
    except OSError as err:
        raise SounderError(f"file: {file} can't be written ({err.strerror}).", "Name another one.") from None
