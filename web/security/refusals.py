"""What the server refuses before the page sees it, such as a body of 30 MB: said as the page says it.

waitress alone answers in its own bare words.
"""

from __future__ import annotations

from html import escape
from typing import Any

from web import words

_HEADERS = [("Content-Type", "text/html; charset=utf-8"), ("Content-Security-Policy", "default-src 'none'"),
            ("X-Content-Type-Options", "nosniff"), ("Cache-Control", "no-store")]


class Refusal:
    """In place of one of waitress's errors, by its code and the short reason of HTTP."""

    def __init__(self, code: int, reason: str) -> None:
        self.code = code
        self.reason = reason

    def to_response(self, ident: str | None = None) -> tuple[str, list[tuple[str, str]], bytes]:
        """Return status, headers and page, as waitress asks for them."""
        del ident
        headline, said = words.refused(self.code)
        page = ('<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width='
                'device-width, initial-scale=1"><meta name="color-scheme" content="light dark">'
                f"<title>{escape(headline)} · Lehrling</title></head><body><main><h1>{escape(headline)}</h1>"
                f'<p>{escape(said)}</p><p>Nothing was kept. <a href="/">To Now</a></p></main></body></html>')
        return f"{self.code} {self.reason}", list(_HEADERS), page.encode("utf-8")


def say_refusals(channel: Any) -> None:
    """Have a channel of waitress refuse in the page's words."""
    make = channel.error_task_class

    def task(of: Any, request: Any) -> Any:
        request.error = Refusal(request.error.code, request.error.reason)
        return make(of, request)

    channel.error_task_class = task
