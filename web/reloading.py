"""The page as a WSGI application that is put together anew when the settings have changed."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from daemon.errors import BadInput

if TYPE_CHECKING:
    from flask import Flask

LOG = logging.getLogger("lehrling.web")


class Reloading:
    """Hands every request on to the page as the settings are now.

    Parameters
    ----------
    make
        Puts the page together; BadInput where the settings can't be used, and the page stays as it is.
    mark
        Gives what changes when the settings do; asked at every request, so it is cheap.
    """

    def __init__(self, make: Callable[[], Flask], mark: Callable[[], object]) -> None:
        self._make = make
        self._mark = mark
        self._seen = mark()
        self._app = make()
        self._making = threading.Lock()

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Answer one request."""
        mark = self._mark()
        if mark != self._seen:
            with self._making:
                if mark != self._seen:
                    self._renew(mark)
        return self._app(environ, start_response)

    def _renew(self, mark: object) -> None:
        try:
            self._app = self._make()
            LOG.info("the settings have changed; the page works with them from now on")
        except BadInput as err:
            LOG.warning("the page stays as it was: %s", err.text)
        self._seen = mark
