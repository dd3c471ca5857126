"""A desk on this machine only: it hands out the newest page and says which version that is."""

from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from types import TracebackType
from typing import Self

HERE = "127.0.0.1"


class Desk:
    """Serves one page on a free port of the loopback address, until it is closed.

    `page` is set to show another page: the version goes up, and the open page asks for it.
    """

    def __init__(self) -> None:
        self.version = 0
        self._page = b""
        self._server = _Server(self)

    def __enter__(self) -> Self:
        """Open the desk; it answers from a thread of its own."""
        Thread(target=self._server.serve_forever, args=(0.1,), daemon=True).start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        """Close the desk."""
        self._server.shutdown()
        self._server.server_close()

    @property
    def address(self) -> str:
        """Return where a browser finds the page."""
        return f"http://{HERE}:{self._server.server_port}/"

    @property
    def page(self) -> bytes:
        """Return the page now shown."""
        return self._page

    def show(self, page: str, version: int) -> None:
        """Hand out another page from now on."""
        self._page = page.encode()
        self.version = version


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, desk: Desk) -> None:
        super().__init__((HERE, 0), _Answer)
        self.desk = desk


class _Answer(BaseHTTPRequestHandler):
    server: _Server

    def do_GET(self) -> None:
        """Answer with the page or its version, to nobody but this machine's own address."""
        desk, port = self.server.desk, self.server.server_port
        if self.headers.get("Host") not in (f"{HERE}:{port}", f"localhost:{port}"):
            self._send(403, b"this page is for this machine only", "text/plain")
        elif self.path == "/":
            self._send(200, desk.page, "text/html; charset=utf-8")
        elif self.path == "/version":
            self._send(200, str(desk.version).encode(), "text/plain")
        else:
            self._send(404, b"there is nothing else here", "text/plain")

    def _send(self, code: int, body: bytes, kind: str) -> None:
        self.send_response(code)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Keep the terminal for faults."""
