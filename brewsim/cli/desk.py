"""A desk on this machine only: it hands out the newest page and says which version that is."""

import sys
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import BoundedSemaphore, Thread
from types import TracebackType
from typing import Any, Self

HERE = "127.0.0.1"
MOST_CLIENTS = 256
LONGEST_SECONDS = 10.0
"""How long a client may keep us waiting for its next word, or for reading ours."""
_GUARDS = {
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Content-Security-Policy": "frame-ancestors 'none'",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
}


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
    request_queue_size = MOST_CLIENTS

    def __init__(self, desk: Desk) -> None:
        super().__init__((HERE, 0), _Answer)
        self.desk = desk
        self._places = BoundedSemaphore(MOST_CLIENTS)

    def process_request(self, request: Any, client_address: Any) -> None:  # noqa: ANN401
        """Answer in a thread of its own; a client too many is hung up on."""
        if self._places.acquire(blocking=False):
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:  # noqa: ANN401
        """Answer, and give the place back whatever became of it."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._places.release()

    def handle_error(self, request: Any, client_address: Any) -> None:  # noqa: ANN401
        """Say nothing of a client that went away or kept us waiting."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


class _Answer(BaseHTTPRequestHandler):
    server: _Server
    timeout = LONGEST_SECONDS

    def do_GET(self) -> None:
        """Answer with the page or its version, to nobody but this machine's own page."""
        desk = self.server.desk
        if not self._is_ours():
            self._send(403, b"this page is for this machine only", "text/plain")
        elif self.path == "/":
            self._send(200, desk.page, "text/html; charset=utf-8")
        elif self.path == "/version":
            self._send(200, str(desk.version).encode(), "text/plain")
        else:
            self._send(404, b"there is nothing else here", "text/plain")

    def _is_ours(self) -> bool:
        """Whether the request names this desk, once, and no other page sent it."""
        names = [f"{name}:{self.server.server_port}" for name in (HERE, "localhost")]
        hosts = self.headers.get_all("Host") or []
        origins = self.headers.get_all("Origin") or []
        return (
            len(hosts) == 1
            and hosts[0] in names
            and all(origin.removeprefix("http://") in names for origin in origins)
            and self.headers.get("Sec-Fetch-Site", "none") in ("none", "same-origin")
        )

    def _send(self, code: int, body: bytes, kind: str) -> None:
        self.send_response(code)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "no-store")
        for name, value in _GUARDS.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Keep the terminal for faults."""
