"""The cookie that names a session: signed, and without a say in how long the session lasts.

Flask's own reads the second at which a cookie was signed and refuses one that is old or from the future. It also
tells the browser a day on which to forget it. On a computer that comes up in 1970 after a power cut, both sign
everybody out when the page is needed most. Here the server's record of sessions decides. The browser is told a span,
not a day.
"""

from __future__ import annotations

from flask import Flask, Request, Response
from flask.sessions import SecureCookieSession, SecureCookieSessionInterface, SessionMixin
from itsdangerous import BadSignature
from werkzeug.http import dump_cookie


class SessionCookie(SecureCookieSessionInterface):
    """Reads and writes the cookie; of its time stamp nothing is believed."""

    def open_session(self, app: Flask, request: Request) -> SecureCookieSession | None:
        """Return what a rightly signed cookie holds, however old it says it is; else an empty session."""
        serializer = self.get_signing_serializer(app)
        if serializer is None:
            return None
        try:
            return self.session_class(serializer.loads(request.cookies.get(self.get_cookie_name(app), "")))
        except BadSignature:
            return self.session_class()

    def save_session(self, app: Flask, session: SessionMixin, response: Response) -> None:
        """Send the cookie where it is due, to be kept for a span of seconds from now."""
        serializer = self.get_signing_serializer(app)
        if not session or serializer is None:
            super().save_session(app, session, response)  # takes away the cookie of a session that was left
            return
        if session.accessed:
            response.vary.add("Cookie")
        if not self.should_set_cookie(app, session):
            return
        response.headers.add("Set-Cookie", dump_cookie(
            self.get_cookie_name(app), str(serializer.dumps(dict(session))),
            max_age=app.permanent_session_lifetime if session.permanent else None, sync_expires=False,
            path=self.get_cookie_path(app), secure=self.get_cookie_secure(app),
            httponly=self.get_cookie_httponly(app), samesite=self.get_cookie_samesite(app)))
        response.vary.add("Cookie")
