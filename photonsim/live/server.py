"""The server of the page. It knows nothing of lamps: it asks a `Site`, and guards the door.

It listens on 127.0.0.1 alone. What asks must name that address as its host, so that no foreign name
that leads here gets an answer; must come from the page itself, so that no other page commands it;
and must know the token in the address. Requests are limited in size and rate. The standard
library's server does all this in a few lines: threads for requests, and server-sent events for
answers that come by themselves.
"""

from __future__ import annotations

import json
import secrets
import sys
import threading
import time
from collections.abc import Callable, Generator
from contextlib import closing
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from typing import Any, NoReturn, Protocol
from urllib.parse import unquote, urlsplit

HOST = "127.0.0.1"
LONGEST_ADDRESS = 1000
# A command is a few numbers.
MOST_BYTES = 1 << 16
# A slider asks 60 times a second at most; several pages may be open.
RATE, BURST = 200.0, 400.0
MOST_CONNECTIONS = 48
# A page that sends half a request is left after this.
PATIENCE_S = 15.0
PAGE = {
    "page.html": "text/html; charset=utf-8",
    "page.css": "text/css; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "icon.svg": "image/svg+xml",
}
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'"
)
# What was written for people, such as a report, has styles within; it may run and send nothing.
QUIET = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; sandbox"
HEADERS = {
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
}


class Site(Protocol):
    """What is served."""

    def act(self, name: str, command: dict[str, Any]) -> dict[str, Any]:
        """Do what a page commands and return the answer. Raises KeyError for what is unknown."""

    def listen(self, tab: str) -> Generator[list[tuple[str, Any]], None, None]:
        """Yield what is new for a page, by kind, or now and then nothing. Raises KeyError."""

    def content(self, name: str) -> tuple[bytes, str] | None:
        """Return a file by its name, and its kind, or nothing where there is none to show."""


class _DoorError(Exception):
    """A request that gets no answer but a status and why."""


class PageServer(ThreadingHTTPServer):
    """A server of one page on this machine; `port` 0 takes any that is free. Raises OSError."""

    daemon_threads = True
    block_on_close = False
    request_queue_size = MOST_CONNECTIONS
    allow_reuse_address = sys.platform != "win32"  # there it would share the port

    def __init__(self, site: Site, port: int = 0) -> None:
        self.site = site
        self.token = secrets.token_urlsafe(16)
        self._places = threading.BoundedSemaphore(MOST_CONNECTIONS)
        self._allowance, self._counted = BURST, time.monotonic()
        self._counting = threading.Lock()
        super().__init__((HOST, port), _Handler)

    @property
    def host(self) -> str:
        """The name that a request must call this server by."""
        return f"{HOST}:{self.server_port}"

    @property
    def address(self) -> str:
        """The address of the page."""
        return f"http://{self.host}/{self.token}/"

    def may_ask(self) -> bool:
        """Count a request; tell whether it is within the rate."""
        with self._counting:
            now = time.monotonic()
            self._allowance = min(BURST, self._allowance + RATE * (now - self._counted))
            self._counted = now
            self._allowance -= self._allowance >= 1.0
            return self._allowance >= 1.0

    def process_request(self, request: Any, client_address: Any) -> None:
        """Serve a connection by a thread, unless too many are open."""
        if self._places.acquire(blocking=False):
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Serve a connection and give its place free."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._places.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say in a line what went wrong; a page that is gone is no fault."""
        error = sys.exception()
        if not isinstance(error, ConnectionError | TimeoutError):
            print(f"live: {type(error).__name__}: {error}", file=sys.stderr, flush=True)


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "photonsim", ""
    timeout = PATIENCE_S
    disable_nagle_algorithm = True
    server: PageServer

    def do_GET(self) -> None:
        self._answered(self._get)

    def do_POST(self) -> None:
        self._answered(self._post)

    def log_message(self, format: str, *args: Any) -> None:
        """Stay silent: an address holds the token."""

    def _answered(self, answer: Callable[[str, str], None]) -> None:
        try:
            room, _, name = self._allowed().partition("/")
            answer(room, name)
        except _DoorError as refused:
            # What it sent, if anything, is not read, so the connection can't go on.
            self.close_connection = True
            status, words = refused.args
            self._send(status, f"{words}\n".encode(), "text/plain; charset=utf-8")

    def _allowed(self) -> str:
        """Return the path behind the token of a request that may be answered."""
        if not self.server.may_ask():
            raise _DoorError(HTTPStatus.TOO_MANY_REQUESTS, "too many requests; wait a second")
        if len(self.path) > LONGEST_ADDRESS:
            raise _DoorError(HTTPStatus.REQUEST_URI_TOO_LONG, "the address is too long")
        if self.headers.get_all("Host") != [self.server.host]:
            raise _DoorError(
                HTTPStatus.MISDIRECTED_REQUEST, "this page answers to its own address alone"
            )
        origin = self.headers.get("Origin")
        if origin != f"http://{self.server.host}" and (
            origin is not None or self.command == "POST"
        ):
            raise _DoorError(HTTPStatus.FORBIDDEN, "another page may not command this one")
        if self.headers.get("Sec-Fetch-Site", "none") not in ("none", "same-origin"):
            raise _DoorError(HTTPStatus.FORBIDDEN, "another page may not ask this one")
        try:
            asked = urlsplit(self.path).path
        except ValueError:
            raise _DoorError(HTTPStatus.BAD_REQUEST, "the address can't be read") from None
        token, slash, path = asked.removeprefix("/").partition("/")
        known = secrets.compare_digest(token.encode(), self.server.token.encode())
        if not (known and slash):
            raise _DoorError(
                HTTPStatus.NOT_FOUND, "nothing here; use the address that the command printed"
            )
        return path

    def _get(self, room: str, name: str) -> None:
        file = room or "page.html"
        if file in PAGE and not name:
            body = files("photonsim.live.page").joinpath(file).read_bytes()
            self._send(HTTPStatus.OK, body, PAGE[file])
        elif room == "events":
            self._tell(name)
        elif room == "files" and (found := self.server.site.content(unquote(name))):
            self._send(HTTPStatus.OK, *found, QUIET)
        else:
            raise _DoorError(HTTPStatus.NOT_FOUND, "there is no such file")

    def _post(self, room: str, name: str) -> None:
        if room != "do":
            raise _DoorError(HTTPStatus.NOT_FOUND, "nothing can be done here")
        try:
            found = self.server.site.act(name, self._command())
        except KeyError as unknown:
            raise _DoorError(HTTPStatus.NOT_FOUND, f"there is no {unknown.args[0]}") from None
        self._send(HTTPStatus.OK, json.dumps(found).encode(), "application/json")

    def _command(self) -> dict[str, Any]:
        """Return what a page sent. Refuses what is too much, and what is no table of JSON."""
        if self.headers.get("Content-Type") != "application/json":
            raise _DoorError(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "send application/json")
        length = self.headers.get("Content-Length", "")
        if self.headers.get("Transfer-Encoding") or not (length.isascii() and length.isdigit()):
            raise _DoorError(HTTPStatus.LENGTH_REQUIRED, "say how long it is")
        if len(length) > 12 or int(length) > MOST_BYTES:
            raise _DoorError(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, "that is too much")
        body = self.rfile.read(int(length))
        if len(body) < int(length):
            raise _DoorError(HTTPStatus.BAD_REQUEST, "the request was cut short")
        try:
            command = json.loads(body, parse_constant=_no_number)
        except (ValueError, RecursionError):
            command = None
        if not isinstance(command, dict):
            raise _DoorError(HTTPStatus.BAD_REQUEST, "that is no command")
        return command

    def _tell(self, tab: str) -> None:
        """Tell a page what is new, for as long as it listens."""
        try:
            news = self.server.site.listen(tab)
        except KeyError:
            raise _DoorError(HTTPStatus.NOT_FOUND, "there is no such page") from None
        self.close_connection = True
        self._begin(HTTPStatus.OK, "text/event-stream")
        self.end_headers()
        with closing(news):
            for messages in news:
                told = (f"event: {kind}\ndata: {json.dumps(one)}\n\n" for kind, one in messages)
                # An empty remark is how it is noticed that a page has hung up.
                self.wfile.write("".join(told).encode() or b":\n\n")

    def _begin(self, status: HTTPStatus, kind: str, policy: str = POLICY) -> None:
        self.send_response(status)
        own = {"Content-Type": kind, "Content-Security-Policy": policy}
        for name, value in (HEADERS | own).items():
            self.send_header(name, value)

    def _send(self, status: HTTPStatus, body: bytes, kind: str, policy: str = POLICY) -> None:
        self._begin(status, kind, policy)
        self.send_header("Content-Length", str(len(body)))
        if self.close_connection:
            self.send_header("Connection", "close")
        self.end_headers()
        self.wfile.write(body)


def _no_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number of JSON")
