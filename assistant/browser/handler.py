"""One request of a browser: checked, then answered."""

import json
import threading
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from http.server import BaseHTTPRequestHandler, HTTPServer
from socket import SHUT_RDWR
from typing import Any
from urllib.parse import parse_qs

from assistant.browser.crowd import Crowd, Full, Place
from assistant.browser.gate import Gate
from assistant.browser.hosts import good_host, good_origin
from assistant.browser.looks import style, template
from assistant.browser.tapping import BadTap, accepted, read_tap
from assistant.browser.told import BEAT, event
from assistant.screen.news import Desk

BEAT_S = 1.0
"""The page says that it is not connected where it hears nothing for 2.5 s."""
MOST_BODY = 4096
COOKIE = "pullcall"
_WHOLE_REQUEST_S = 10.0
"""A request must be there by then, however slowly it trickles in."""
_GUARDED = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}
_FILES = {"/page.js": "text/javascript", "/room.js": "text/javascript"}
_HTML, _TEXT, _CSS = "text/html", "text/plain", "text/css"


@dataclass(frozen=True)
class Served:
    """What the pages are about."""

    crowd: Crowd
    gate: Gate
    desk: Desk
    may_tap: bool
    theme: str


class Handler(BaseHTTPRequestHandler):
    """Answers GET /, /page.css, /page.js, /room.js, /news and POST /code, /shown, /tap."""

    server_version, sys_version = "pullcall", ""
    timeout = 5.0
    """Seconds that one read or write may take."""
    server: HTTPServer

    def __init__(self, served: Served, loopback: bool, *connection: Any) -> None:
        """`loopback`: the server is bound to this machine only; `connection` is the library's, answered at once."""
        self._served, self._loopback = served, loopback
        super().__init__(*connection)

    def setup(self) -> None:
        """Whoever does not ask in time is cut off."""
        super().setup()
        self._hurry = threading.Timer(_WHOLE_REQUEST_S, self._cut_off)
        self._hurry.daemon = True
        self._hurry.start()

    def finish(self) -> None:
        """The request is done."""
        self._hurry.cancel()
        super().finish()

    def _cut_off(self) -> None:
        with suppress(OSError):  # it may have gone by itself
            self.connection.shutdown(SHUT_RDWR)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 (the library's name)
        """Nothing: the terminal shows the session."""

    def do_GET(self) -> None:
        """The page, its parts, and the news."""
        self._hurry.cancel()
        if not self._host_is_ours():
            return
        if self.path == "/page.css":
            self._send(HTTPStatus.OK, style(self._served.theme), _CSS)
        elif self.path in _FILES:
            self._send(HTTPStatus.OK, template(self.path[1:]), _FILES[self.path])
        elif self.path == "/":
            self._send(HTTPStatus.OK, self._page(), _HTML)
        elif self.path != "/news":
            self._refuse(HTTPStatus.NOT_FOUND, "no such page: open /")
        elif not self._admitted():
            self._refuse(HTTPStatus.UNAUTHORIZED, "no code was given: open / and type it")
        else:
            self._news()

    def do_POST(self) -> None:
        """A code, or a tap."""
        if not self._host_is_ours():
            return
        if not good_origin(self.headers.get("Origin", ""), self.headers["Host"]):
            self._refuse(HTTPStatus.FORBIDDEN, "asked by another page: open / of this address")
            return
        body = self._body()
        self._hurry.cancel()
        if body is None:
            return
        if self.path == "/code":
            self._code(body)
        elif self.path in ("/tap", "/shown"):
            self._tapped(body)
        else:
            self._refuse(HTTPStatus.NOT_FOUND, "no such page: open /")

    def _host_is_ours(self) -> bool:
        hosts = self.headers.get_all("Host") or [""]
        if len(hosts) == 1 and good_host(hosts[0], self.server.server_port, self._loopback):
            return True
        self._refuse(HTTPStatus.MISDIRECTED_REQUEST, "no name is answered to: type the address in figures")
        return False

    def _admitted(self) -> bool:
        try:
            found = SimpleCookie(self.headers.get("Cookie", "")).get(COOKIE)
        except CookieError:
            found = None
        return self._served.gate.knows("" if found is None else found.value)

    def _body(self) -> bytes | None:
        length = self.headers.get("Content-Length", "")
        if not length.isascii() or not length.isdigit():
            self._refuse(HTTPStatus.LENGTH_REQUIRED, "no length: give Content-Length")
            return None
        if len(length) > 9 or int(length) > MOST_BODY:
            self._refuse(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"too long: {MOST_BODY} bytes at most")
            return None
        return self.rfile.read(int(length))

    def _page(self, told: str = "") -> bytes:
        if not self._admitted():
            self._served.gate.remind()
            return template("code.html").replace(b"<!--told-->", told.encode())
        may_tap = b"yes" if self._served.may_tap else b"no"
        return template("page.html").replace(b"<!--may-tap-->", may_tap)

    def _code(self, body: bytes) -> None:
        gate = self._served.gate
        token = gate.admit(parse_qs(body.decode("ascii", "replace")).get("code", [""])[0])
        if token:
            cookie = f"{COOKIE}={token}; HttpOnly; SameSite=Strict; Path=/"
            self._send(HTTPStatus.SEE_OTHER, b"", _TEXT, {"Location": "/", "Set-Cookie": cookie})
        elif wait := gate.wait_s():
            told = f"Too many wrong codes. Wait {wait:.0f} seconds, then type the new code."
            self._send(HTTPStatus.TOO_MANY_REQUESTS, self._page(told), _HTML)
        else:
            self._send(HTTPStatus.FORBIDDEN, self._page("That is not the code. Each is good for one browser."), _HTML)

    def _tapped(self, body: bytes) -> None:
        served = self._served
        panel = served.crowd.panel
        if not self._admitted():
            self._refuse(HTTPStatus.UNAUTHORIZED, "no code was given: open / and type it")
        elif not served.may_tap:
            self._refuse(HTTPStatus.FORBIDDEN, "this screen only shows: begin with --tablet-may-tap")
        elif panel is None:
            self._refuse(HTTPStatus.CONFLICT, "nothing is asked yet")
        else:
            try:
                tap = read_tap(body, panel)
            except BadTap as error:
                self._refuse(HTTPStatus.UNPROCESSABLE_ENTITY, str(error))
                return
            good = accepted(tap, panel, served.desk)
            if self.path == "/shown":
                served.desk.touched()
                shown = {"shown": tap.shown, "good": good}
                self._send(HTTPStatus.OK, json.dumps(shown).encode(), "application/json")
            elif not good:
                self._refuse(HTTPStatus.UNPROCESSABLE_ENTITY, f"not an answer here: {tap.shown}")
            else:
                served.desk.tap(tap.turn, tap.sentence)
                self._send(HTTPStatus.ACCEPTED, b"", _TEXT)

    def _news(self) -> None:
        try:
            with self._served.crowd.place() as place:
                self._head(HTTPStatus.OK, "text/event-stream", {})
                self._stream(place)
        except Full:
            self._refuse(HTTPStatus.SERVICE_UNAVAILABLE, "too many screens: close one")
        except OSError:
            pass  # the browser went away

    def _stream(self, place: Place) -> None:
        self.wfile.write(b"retry: 500\n\n")
        while (news := place.take(BEAT_S)) is not None:
            self.wfile.write(b"".join(map(event, news)) or BEAT)

    def _refuse(self, status: HTTPStatus, told: str) -> None:
        self._send(status, told.encode(), _TEXT)

    def _send(self, status: HTTPStatus, body: bytes, kind: str, more: Mapping[str, str] | None = None) -> None:
        self._head(status, kind, {"Content-Length": str(len(body)), **(more or {})})
        self.wfile.write(body)

    def _head(self, status: HTTPStatus, kind: str, more: Mapping[str, str]) -> None:
        self.send_response(status)
        for name, value in {"Content-Type": f"{kind}; charset=utf-8", **_GUARDED, **more}.items():
            self.send_header(name, value)
        self.end_headers()
