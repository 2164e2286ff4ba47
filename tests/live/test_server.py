"""The door of the page: who gets in, and how much at once (RFC 9110, RFC 6454, the Fetch standard).

The site behind it is a stand-in that knows nothing of lamps.
"""

import http.client
import select
import socket
import threading
import time

import pytest

from photonsim.live import server as page
from photonsim.live.news import News
from photonsim.live.server import BURST, MOST_BYTES, MOST_CONNECTIONS, PageServer


class StandIn:
    """A site that notes what it is asked."""

    def __init__(self):
        self.commands = []
        self.news = News()

    def act(self, name, command):
        if name != "note":
            raise KeyError(name)
        self.commands.append(command)
        return {"noted": len(self.commands)}

    def listen(self, tab):
        if tab != "one":
            raise KeyError(tab)
        return self.news.listen()

    def content(self, name):
        return (b"a,b\n", "text/csv") if name == "table 1.csv" else None


@pytest.fixture
def served():
    site = StandIn()
    server = PageServer(site)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    yield server
    site.news.close()
    server.shutdown()
    server.server_close()


def asked(server, method, path, body=None, drop=(), **headers):
    """Return (status, headers, body) of a request as the page sends it, but for `headers`."""
    usual = {"Host": f"127.0.0.1:{server.server_port}"}
    if method == "POST":
        usual |= {"Origin": f"http://{usual['Host']}", "Content-Type": "application/json"}
        usual["Content-Length"] = str(len(body or b""))
    usual |= {name.replace("_", "-"): value for name, value in headers.items()}
    connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=10)
    connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    for name, value in usual.items():
        if name not in drop:
            connection.putheader(name, value)
    connection.endheaders(body)
    answer = connection.getresponse()
    found = (answer.status, answer.headers, answer.read())
    connection.close()
    return found


def noted(server, body=b'{"a": 1}', **rest):
    return asked(server, "POST", f"/{server.token}/do/note", body, **rest)


def test_the_page_itself_is_answered(served):
    for name, kind in {"": "text/html; charset=utf-8", **page.PAGE}.items():
        status, headers, _ = asked(served, "GET", f"/{served.token}/{name}")
        assert (status, headers["Content-Type"]) == (200, kind)
    assert noted(served)[0::2] == (200, b'{"noted": 1}')
    assert asked(served, "GET", f"/{served.token}/files/table%201.csv")[2] == b"a,b\n"


def test_it_listens_on_this_machine_alone(served):
    assert served.server_address[0] == "127.0.0.1"
    others = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None)}
    for address in others - {"127.0.0.1", "::1"}:
        family = socket.AF_INET6 if ":" in address else socket.AF_INET
        with socket.socket(family) as other:
            other.settimeout(2)
            assert other.connect_ex((address, served.server_port)) != 0 or address.startswith("127")


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:1", "0.0.0.0:{port}", ""],
)
def test_a_foreign_host_is_refused(served, host):
    # A name that leads to 127.0.0.1 makes a foreign page one of our origin (DNS rebinding).
    host = host.format(port=served.server_port)
    origin = f"http://{host}"
    assert asked(served, "GET", f"/{served.token}/", Host=host)[0] == 421
    assert noted(served, Host=host, Origin=origin)[0] == 421
    assert noted(served, drop=("Host",))[0] == 421
    assert served.site.commands == []


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "https://127.0.0.1:{port}",
        "http://127.0.0.1",
        "http://localhost",
    ],
)
def test_a_foreign_origin_is_refused(served, origin):
    origin = origin.format(port=served.server_port)
    assert noted(served, Origin=origin)[0] == 403
    assert asked(served, "GET", f"/{served.token}/", Origin=origin)[0] == 403
    assert served.site.commands == []


def test_a_command_without_an_origin_is_refused(served):
    assert noted(served, drop=("Origin",))[0] == 403


@pytest.mark.parametrize("where", ["cross-site", "same-site"])
def test_what_a_browser_says_comes_from_elsewhere_is_refused(served, where):
    assert noted(served, Sec_Fetch_Site=where)[0] == 403
    assert asked(served, "GET", f"/{served.token}/", Sec_Fetch_Site=where)[0] == 403


@pytest.mark.parametrize("token", ["", "x", "{token}x", "%00", "..", "{half}", "\u00e9"])
def test_without_the_token_there_is_nothing(served, token):
    path = token.format(token=served.token, half=served.token[:-1])
    for ending in ("", "/", "/page.js", "/events/one", "/files/table%201.csv"):
        address = f"/{path}{ending}".encode().decode("latin-1")
        with socket.create_connection(("127.0.0.1", served.server_port), 10) as raw:
            host = f"127.0.0.1:{served.server_port}"
            raw.sendall(f"GET {address} HTTP/1.1\r\nHost: {host}\r\n\r\n".encode("latin-1"))
            assert raw.recv(100).split(b" ")[1] == b"404"
    if path.isascii():
        assert asked(served, "POST", f"/{path}/do/note", b"{}")[0] == 404
    assert served.site.commands == []


def test_each_start_has_a_token_of_its_own(served):
    other = PageServer(StandIn())
    other.server_close()
    assert other.token != served.token and len(served.token) >= 20


def test_huge_requests_are_refused(served):
    assert noted(served, b"{}" + b" " * MOST_BYTES)[0] == 413
    assert noted(served, b"{}", Content_Length="9" * 12)[0] == 413
    assert noted(served, b"{}", Content_Length="9" * 4000)[0] == 413
    assert asked(served, "GET", f"/{served.token}/{'x' * 2000}")[0] == 414
    assert asked(served, "GET", f"/{served.token}/{'x' * 70000}")[0] == 414
    assert asked(served, "GET", f"/{served.token}/", X="x" * 70000)[0] == 431
    many = {f"X{k}": "1" for k in range(150)}
    assert asked(served, "GET", f"/{served.token}/", **many)[0] == 431


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"7",
        b'"x"',
        b"null",
        b'{"a": NaN}',
        b"[" * 60000,
        b"\xff\xfe",
        b'{"a": 1}}',
    ],
)
def test_malformed_commands_are_refused(served, body):
    assert noted(served, body)[0] == 400
    assert served.site.commands == []


def test_malformed_requests_are_refused(served):
    assert noted(served, Content_Type="text/plain")[0] == 415
    assert noted(served, drop=("Content-Type",))[0] == 415
    assert noted(served, drop=("Content-Length",))[0] == 411
    assert noted(served, Content_Length="-1")[0] == 411
    assert noted(served, Content_Length="0x8")[0] == 411
    assert noted(served, Transfer_Encoding="chunked")[0] == 411
    assert asked(served, "POST", f"/{served.token}/do/else", b"{}")[0] == 404
    assert asked(served, "POST", f"/{served.token}/", b"{}")[0] == 404
    assert asked(served, "GET", f"/{served.token}/do/note")[0] == 404
    assert asked(served, "GET", f"/{served.token}/events/two")[0] == 404
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE"):
        assert asked(served, method, f"/{served.token}/do/note")[0] == 501
    for garbage in (b"\r\n\r\n", b"GET\r\n\r\n", b"\x16\x03\x01\x02", b"GET / HTTP/9.9\r\n\r\n"):
        with socket.create_connection(("127.0.0.1", served.server_port), 10) as raw:
            raw.sendall(garbage)
            raw.shutdown(socket.SHUT_WR)
            raw.recv(1000)
    assert noted(served)[0] == 200


def test_paths_lead_nowhere_else(served):
    for path in ("../server.py", "..%2fserver.py", "%2e%2e/server.py", "//etc/passwd", "server.py"):
        assert asked(served, "GET", f"/{served.token}/{path}")[0] == 404


def test_requests_are_limited_in_rate(served, monkeypatch):
    # With a clock that stands still, the burst is all there is.
    now = time.monotonic()
    monkeypatch.setattr(page.time, "monotonic", lambda: now)
    served._allowance = 5.0
    statuses = [noted(served)[0] for _ in range(8)]
    assert statuses == [200] * 4 + [429] * 4
    monkeypatch.setattr(page.time, "monotonic", lambda: now + 1.0)
    assert noted(served)[0] == 200
    assert BURST >= 100.0


def test_connections_are_limited(served):
    held = [socket.create_connection(("127.0.0.1", served.server_port), 10) for _ in range(60)]
    try:
        time.sleep(0.5)
        # Those that are served are waited for; the others have been hung up on.
        closed = len(select.select(held, [], [], 0.5)[0])
        assert closed == len(held) - MOST_CONNECTIONS
    finally:
        for one in held:
            one.close()
    time.sleep(0.3)
    assert noted(served)[0] == 200


def test_every_answer_carries_the_policy(served):
    answers = [
        asked(served, "GET", f"/{served.token}/"),
        noted(served),
        asked(served, "GET", "/"),
    ]
    for _, headers, _ in answers:
        policy = headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
        assert "unsafe" not in policy and "*" not in policy and "data:" not in policy
        assert "frame-ancestors 'none'" in policy
    # A file, such as a report, is shown by itself: styled, without any right to run or send.
    written = asked(served, "GET", f"/{served.token}/files/table%201.csv")
    policy = written[1]["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; ") and policy.endswith("; sandbox")
    assert "script" not in policy and "connect" not in policy and "form" not in policy
    for _, headers, _ in [*answers, written]:
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert headers["Access-Control-Allow-Origin"] is None


def test_news_are_told_and_the_newest_of_each_kind_alone(served):
    connection = http.client.HTTPConnection("127.0.0.1", served.server_port, timeout=10)
    for k in range(3):
        served.site.news.tell("answer", {"number": k})
    served.site.news.tell("state", {"title": "</script>\n\n"})
    connection.request("GET", f"/{served.token}/events/one")
    answer = connection.getresponse()
    assert answer.headers["Content-Type"] == "text/event-stream"
    lines = [answer.fp.readline() for _ in range(8)]
    assert lines[:3] == [b"event: answer\n", b'data: {"number": 2}\n', b"\n"]
    assert lines[4] == b'data: {"title": "</script>\\n\\n"}\n'
    # While nothing is new, a remark (HTML standard, 9.2.5) tells whether the page is still there.
    assert lines[6:] == [b":\n", b"\n"] and served.site.news.listeners == 1
    answer.close()
    connection.close()
    end = time.monotonic() + 10.0
    while served.site.news.listeners:
        assert time.monotonic() < end, "it is not noticed that the page has hung up"
        time.sleep(0.05)
