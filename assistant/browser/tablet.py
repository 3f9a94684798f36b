"""The second screen as the job sees it: opened beside the sitting, told its news, and never in its way."""

import errno
import threading
from collections.abc import Callable

from assistant.browser.crowd import Crowd
from assistant.browser.gate import Gate
from assistant.browser.handler import Served
from assistant.browser.hosts import is_loopback
from assistant.browser.server import Server
from assistant.browser.wishes import TabletWishes
from assistant.screen.news import Desk, News, Trouble


class Tablet:
    """The server in threads of its own."""

    def __init__(
        self, wishes: TabletWishes, desk: Desk, trouble: Callable[[Trouble], object], theme: str = "dark"
    ) -> None:
        """Serves nothing yet; `trouble` is told where to look, the code, and what does not work."""
        self._wishes, self._desk, self._trouble, self._theme = wishes, desk, trouble, theme
        self._crowd = Crowd()
        self._server: Server | None = None

    @property
    def port(self) -> int:
        """Where it is served; 0 = nowhere."""
        return 0 if self._server is None else self._server.server_port

    def open(self) -> None:
        """Begin to serve; where that is impossible, it is told, and the job goes on without."""
        wishes = self._wishes
        try:
            gate = Gate(None if is_loopback(wishes.address) else self._show_code)
            served = Served(self._crowd, gate, self._desk, wishes.may_tap, self._theme)
            self._server = Server(wishes.address, wishes.port, served)
            threading.Thread(target=self._serve, args=(self._server,), name="tablet", daemon=True).start()
        except (OSError, RuntimeError) as error:
            self._trouble(Trouble(_why(wishes, error)))
            return
        self._trouble(Trouble(f"tablet: open {self.link}"))
        gate.remind()

    @property
    def link(self) -> str:
        """The page's address."""
        name = f"[{self._wishes.address}]" if ":" in self._wishes.address else self._wishes.address
        return f"http://{name}:{self.port}/"

    def _show_code(self, code: str) -> None:
        self._trouble(Trouble(f"tablet: the next browser's code is {code[:3]} {code[3:]}"))

    def _serve(self, server: Server) -> None:
        try:
            server.serve_forever(0.2)
        except (OSError, RuntimeError, ValueError) as error:
            self._trouble(Trouble(f"no tablet: the page is no longer served ({error}); the job goes on"))

    def tell(self, news: News) -> None:
        """News of the sitting, from any thread; never waits."""
        self._crowd.tell(news)

    def close(self) -> None:
        """Let every browser go."""
        self._crowd.close()
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()


def _why(wishes: TabletWishes, error: Exception) -> str:
    if isinstance(error, OSError) and error.errno == errno.EADDRINUSE:
        return f"no tablet: port {wishes.port} is taken; give another, as in --tablet {wishes.port % 65000 + 1}"
    if isinstance(error, OSError) and error.errno == errno.EADDRNOTAVAIL:
        return f"no tablet: {wishes.address} is not an address of this machine; 'ip address' shows those it has"
    if isinstance(error, OSError) and error.errno == errno.EACCES:
        return f"no tablet: port {wishes.port} is not allowed; give one above 1023, as in --tablet 8765"
    return f"no tablet: {error}; the job goes on without"
