"""A headless Chromium driven through a pair of pipes (its DevTools protocol): to try and to picture the page."""

import base64
import json
import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome")
_PATIENCE_S = 10.0


def chromium() -> str | None:
    """Its path here, if any."""
    return next(filter(None, map(shutil.which, NAMES)), None)


class Chromium:
    """One browser; each page is a profile apart, so that cookies are not shared."""

    def __init__(self) -> None:
        """Raises FileNotFoundError without Chromium."""
        found = chromium()
        if found is None:
            raise FileNotFoundError("no Chromium here: apt install chromium")
        self._profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        asks, self._to = os.pipe()
        self._answers, answers = os.pipe()
        self._begin(found, asks, answers)
        self._unread = b""
        self._number = 0

    def _begin(self, found: str, asks: int, answers: int) -> None:
        # It reads from descriptor 3 and writes to 4, whatever numbers the pipes have here.
        flags = "--headless=new --no-sandbox --disable-gpu --hide-scrollbars --remote-debugging-pipe --no-first-run"
        line = f'exec "$0" {flags} --user-data-dir="$1" about:blank 3<&{asks} 4>&{answers}'
        command = ["bash", "-c", line, found, self._profile.name]
        self._process = subprocess.Popen(
            command, pass_fds=(asks, answers), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(asks)
        os.close(answers)

    def call(self, method: str, session: str = "", **params: Any) -> dict[str, Any]:
        """One command of the protocol; its result."""
        self._number += 1
        asked = {"id": self._number, "method": method, "params": params} | ({"sessionId": session} if session else {})
        os.write(self._to, json.dumps(asked).encode() + b"\0")
        while (told := self._next()).get("id") != self._number:
            pass  # an event
        if "error" in told:
            raise RuntimeError(f"{method}: {told['error']}")
        found: dict[str, Any] = told["result"]
        return found

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._unread:
            read = os.read(self._answers, 1 << 16)
            if not read:
                raise RuntimeError("Chromium ended")
            self._unread += read
        told, _, self._unread = self._unread.partition(b"\0")
        found: dict[str, Any] = json.loads(told)
        return found

    def page(self, link: str, width: int, height: int) -> "Page":
        """A page of its own, with a touch screen."""
        context = self.call("Target.createBrowserContext")["browserContextId"]
        target = self.call("Target.createTarget", url="about:blank", browserContextId=context)["targetId"]
        session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        page = Page(self, session)
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": True}
        page.call("Emulation.setDeviceMetricsOverride", **size)
        page.call("Emulation.setTouchEmulationEnabled", enabled=True)
        page.call("Page.navigate", url=link)
        return page

    def close(self) -> None:
        """End it."""
        os.close(self._to)
        os.close(self._answers)
        self._process.terminate()
        self._process.wait(10)
        self._profile.cleanup()


class Page:
    """One page."""

    def __init__(self, browser: Chromium, session: str) -> None:
        self._browser, self._session = browser, session

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """One command for this page."""
        return self._browser.call(method, self._session, **params)

    def js(self, expression: str) -> Any:
        """What an expression is in the page."""
        told = self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        return told["result"].get("value")

    def wait(self, expression: str, patience_s: float = _PATIENCE_S) -> float:
        """Until it is true; after how many seconds. Raises TimeoutError."""
        begun = time.monotonic()
        while not self.js(expression):
            if time.monotonic() - begun > patience_s:
                raise TimeoutError(f"never came true: {expression}; page: {self.js('document.body.innerText')}")
            time.sleep(0.02)
        return time.monotonic() - begun

    def touch(self, element: str) -> None:
        """A finger in the middle of what a JavaScript expression finds."""
        middle = f"((b) => [b.x + b.width / 2, b.y + b.height / 2])(({element}).getBoundingClientRect())"
        box = self.js(middle)
        self.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": box[0], "y": box[1]}])
        self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    def press(self, key: str) -> None:
        """A key of the keyboard."""
        code = {"Tab": 9, "Enter": 13, "Backspace": 8}.get(key, ord(key[0].upper()))
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
        named = {"key": key, "windowsVirtualKeyCode": code}
        self.call("Input.dispatchKeyEvent", type="keyDown", text=text, **named)
        self.call("Input.dispatchKeyEvent", type="keyUp", **named)

    def picture(self, file: Path) -> None:
        """Save what is seen."""
        file.write_bytes(base64.b64decode(self.call("Page.captureScreenshot", format="png")["data"]))
