"""The server behind the page: a thread for each browser, so many at most, and none that the sitting waits for."""

import socket
import threading
from contextlib import suppress
from functools import partial
from http.server import ThreadingHTTPServer
from typing import Any

from assistant.browser.handler import Handler, Served
from assistant.browser.hosts import is_loopback

MOST_CONNECTIONS = 32
_BUSY = b"HTTP/1.0 503 Service Unavailable\r\nContent-Length: 0\r\n\r\n"
_VANISHED_MS = 10_000
"""What was sent and not acknowledged for so long was sent to nobody."""


class Server(ThreadingHTTPServer):
    """Serves one sitting."""

    daemon_threads = True
    block_on_close = False
    request_queue_size = 16

    def __init__(self, address: str, port: int, served: Served) -> None:
        """Bound and not yet serving. Raises OSError."""
        self._free = threading.BoundedSemaphore(MOST_CONNECTIONS)
        self.address_family = socket.AF_INET6 if ":" in address else socket.AF_INET
        super().__init__((address, port), partial(Handler, served, is_loopback(address)))

    def server_bind(self) -> None:
        """Without asking the network for our own name, as the library does."""
        self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self.socket.bind(self.server_address)
        self.server_address = self.socket.getsockname()
        self.server_name, self.server_port = str(self.server_address[0]), int(self.server_address[1])

    def process_request(self, request: Any, client_address: Any) -> None:
        """A thread for the request, while there are some left."""
        if not self._free.acquire(blocking=False):
            request.settimeout(0.1)
            with suppress(OSError):
                request.sendall(_BUSY)
            self.shutdown_request(request)
            return
        if hasattr(socket, "TCP_USER_TIMEOUT"):
            request.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, _VANISHED_MS)
        super().process_request(request, client_address)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """The request, in its thread."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._free.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A browser that went away is no news, and nothing of it may reach the terminal's drawing."""
