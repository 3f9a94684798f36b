"""Headless Chromium for the report's tests: what a page asked for, what it complained of, and how its colours stand."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from assistant.practice.chromium import Chromium, Page

DESK, PHONE, ZOOMED = (1280, 900), (380, 800), (640, 450)
"""CSS pixels; the last is the desk's window at 200 % zoom."""


class Watcher(Chromium):
    """A browser that keeps what pages tell by themselves."""

    def __init__(self) -> None:
        super().__init__()
        self.told: list[dict[str, Any]] = []
        self._first = self.call("Target.getTargets")["targetInfos"][0]["targetId"]

    def _next(self) -> dict[str, Any]:
        found = super()._next()
        if "id" not in found:
            self.told.append(found)
        return found

    def show(self, file: Path, size: tuple[int, int] = DESK, *, dark: bool = False, media: str = "screen") -> Page:
        """The file in a window of that size."""
        for each in self.call("Target.getTargets")["targetInfos"]:
            if each["type"] == "page" and each["targetId"] != self._first:
                self.call("Target.closeTarget", targetId=each["targetId"])
        page = self.page("about:blank", *size)
        for part in ("Runtime", "Log", "Network", "Page"):
            page.call(f"{part}.enable")
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        page.call("Emulation.setEmulatedMedia", media=media, features=[scheme])
        self.told.clear()
        page.call("Page.navigate", url=file.as_uri())
        page.wait("document.readyState == 'complete' && document.body.innerText.length > 0")
        return page

    @property
    def asked_for(self) -> list[str]:
        """Addresses the last page shown asked for."""
        sent = [each for each in self.told if each["method"] == "Network.requestWillBeSent"]
        return [each["params"]["request"]["url"] for each in sent]

    @property
    def complaints(self) -> list[str]:
        """Console messages, log entries and exceptions of the last page shown."""
        loud = ("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
        return [str(each["params"]) for each in self.told if each["method"] in loud]


@contextmanager
def watcher() -> Iterator[Watcher]:
    """A browser for the length of some tests."""
    found = Watcher()
    try:
        yield found
    finally:
        found.call("Browser.close")
        found.close()


TEXTS = """
(() => {
  const plain = text => { const [r, g, b, a = 1] = text.match(/[\\d.]+/g).map(Number); return [r, g, b, a]; };
  const over = (top, under) => [0, 1, 2].map(i => top[i] * top[3] + under[i] * (1 - top[3]));
  const ground = element => {
    const found = [];
    for (let at = element; at; at = at.parentElement) {
      const colour = plain(getComputedStyle(at).backgroundColor);
      if (colour[3] > 0) found.push(colour);
      if (colour[3] === 1) break;
    }
    return found.reverse().reduce((under, top) => over(top, under), [255, 255, 255]);
  };
  const behind = (text, style) => {
    if (style.paintOrder.startsWith('stroke') && style.stroke !== 'none') return plain(style.stroke);
    text.scrollIntoView({block: 'center', inline: 'center'});
    const box = text.getBoundingClientRect();
    const under = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2);
    for (const each of under) {
      const fill = each instanceof SVGGeometryElement ? getComputedStyle(each).fill : 'none';
      if (each.namespaceURI.endsWith('svg') && fill.startsWith('rgb') && plain(fill)[3] > 0) return plain(fill);
    }
    return ground(text.closest('svg').parentElement);
  };
  const found = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const element = node.parentElement, style = getComputedStyle(element);
    if (!node.data.trim() || !element.checkVisibility() || element.closest('title, desc, style')) continue;
    const drawn = element instanceof SVGElement;
    found.push({
      text: node.data.trim().slice(0, 40),
      ink: plain(drawn ? style.fill : style.color).slice(0, 3),
      ground: drawn ? behind(element, style) : ground(element),
    });
  }
  return found;
})()
"""
"""Every text that is seen, with its colour and the colour behind it, from computed styles."""

DRAWN = """
(() => {
  const plain = text => text.match(/[\\d.]+/g).map(Number).slice(0, 3);
  const ground = plain(getComputedStyle(document.body).backgroundColor);
  const wanted = '.plan .arrow, .plan .floor, .plan .start, .graph .bite, .graph .link, .graph .fell, .graph .limit,' +
    '.chart .bite, .chart .limit, .graph .column, .strip .work, .strip .pause, .strip .stopped';
  return [...document.querySelectorAll(wanted)].map(each => {
    const style = getComputedStyle(each);
    const ink = style.stroke === 'none' ? style.fill : style.stroke;
    return {text: each.getAttribute('class'), ink: plain(ink), ground};
  });
})()
"""
"""Lines and areas that carry meaning."""
