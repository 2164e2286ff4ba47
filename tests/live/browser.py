"""A headless browser for tests: chromium, spoken to by its DevTools protocol."""

import base64
import itertools
import json
import os
import socket
import struct
import subprocess
import time
import urllib.request

from tests.report.browser import PROGRAM

PATIENCE_S = 90.0
KEYS = {"Tab": 9, "Enter": 13, " ": 32, "PageUp": 33, "ArrowLeft": 37, "ArrowUp": 38,
        "ArrowRight": 39, "ArrowDown": 40, "Delete": 46}  # fmt: skip


class Browser:
    """A page in a browser of its own; `another` opens a second one beside it."""

    def __init__(self, folder):
        self._program = subprocess.Popen(
            [PROGRAM, "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run",
             "--disable-background-networking", "--remote-debugging-port=0",
             f"--user-data-dir={folder}", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        note = folder / "DevToolsActivePort"
        self._until(lambda: note.exists() and "\n" in note.read_text())
        self.port = int(note.read_text().split()[0])
        self._until(lambda: self._places("page"))
        self._connect(self._places("page")[0]["webSocketDebuggerUrl"])

    def another(self):
        """Return a second page of the same browser."""
        made = object.__new__(Browser)
        made._program, made.port = None, self.port
        wanted = urllib.request.Request(f"http://127.0.0.1:{self.port}/json/new", method="PUT")
        with urllib.request.urlopen(wanted) as answer:
            made._connect(json.load(answer)["webSocketDebuggerUrl"])
        return made

    def _until(self, is_so):
        end = time.monotonic() + PATIENCE_S
        while not is_so():
            assert time.monotonic() < end, "the browser does not start"
            time.sleep(0.05)

    def _places(self, kind):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/json/list") as answer:
            return [one for one in json.load(answer) if one["type"] == kind]

    def _connect(self, address):
        """Open a web socket (RFC 6455)."""
        self._socket = socket.create_connection(("127.0.0.1", self.port), PATIENCE_S)
        path = address.split(str(self.port), 1)[1]
        key = base64.b64encode(os.urandom(16)).decode()
        self._socket.sendall(
            f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nUpgrade: websocket\r\n"
            f"Connection: Upgrade\r\nSec-WebSocket-Key: {key}\r\n"
            "Sec-WebSocket-Version: 13\r\n\r\n".encode()
        )
        self._file = self._socket.makefile("rb")
        while self._file.readline() != b"\r\n":
            pass
        self._numbers = itertools.count(1)
        self.told = []

    def call(self, method, **parameters):
        """Call a method of the protocol and return what it gives."""
        number = next(self._numbers)
        text = json.dumps({"id": number, "method": method, "params": parameters}).encode()
        size = len(text)
        head = struct.pack("!BBH", 0x81, 0xFE, size) if size < 1 << 16 else None
        head = head or struct.pack("!BBQ", 0x81, 0xFF, size)
        # Masked with nothing: what a client sends must be masked, by whatever key.
        self._socket.sendall(head + bytes(4) + text)
        while True:
            told = json.loads(self._frame())
            if told.get("id") == number:
                assert "error" not in told, told
                return told["result"]
            self.told.append(told)

    def _frame(self):
        _, size = self._file.read(2)
        if size == 126:
            (size,) = struct.unpack("!H", self._file.read(2))
        elif size == 127:
            (size,) = struct.unpack("!Q", self._file.read(8))
        return self._file.read(size)

    def evaluate(self, script):
        """Return what a script of the page comes to, awaited."""
        found = self.call(
            "Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True
        )
        assert "exceptionDetails" not in found, found
        return found["result"].get("value")

    def open(self, address, width=1280, height=900, dark=False):
        """Open an address in a window of a size."""
        self.call("Page.enable")
        self.call("Runtime.enable")
        self.call("Log.enable")
        self.resize(width, height)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", features=[scheme])
        self.call("Page.navigate", url=address)

    def resize(self, width, height):
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=1, mobile=width < 600)  # fmt: skip

    def wait(self, script, patience_s=PATIENCE_S):
        """Wait until a script comes to something true, and return that."""
        end = time.monotonic() + patience_s
        while not (found := self.evaluate(script)):
            assert time.monotonic() < end, f"never true: {script}"
            time.sleep(0.05)
        return found

    def press(self, key, shift=False, control=False):
        """Press a key and let it go."""
        about = {"key": key, "windowsVirtualKeyCode": KEYS.get(key, ord(key[0].upper())),
                 "modifiers": 8 * shift + 2 * control}  # fmt: skip
        text = {"Enter": "\r", " ": " "}.get(key, key if len(key) == 1 and not control else None)
        self.call(
            "Input.dispatchKeyEvent", type="keyDown", **about, **({"text": text} if text else {})
        )
        self.call("Input.dispatchKeyEvent", type="keyUp", **about)

    def type(self, words):
        """Type words in the place of what stands in the box."""
        self.press("a", control=True)
        self.call("Input.insertText", text=words)

    def picture(self, path, is_whole=True):
        """Save what the page looks like."""
        found = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=is_whole)
        path.write_bytes(base64.b64decode(found["data"]))

    def complaints(self):
        """Return errors of the page's script and of its policy."""
        self.evaluate("0")
        kinds = ("Runtime.exceptionThrown", "Log.entryAdded")
        return [told["params"] for told in self.told if told["method"] in kinds]

    def close(self):
        self._socket.close()
        if self._program:
            self._program.terminate()
            self._program.wait(20)
