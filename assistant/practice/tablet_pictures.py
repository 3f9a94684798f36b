"""Pictures of the page for browsers, on a tablet upright and across; needs Chromium.

python -m assistant.practice.tablet_pictures docs/screens
"""

import sys
from pathlib import Path

from assistant.browser.tablet import Tablet
from assistant.browser.wishes import TabletWishes
from assistant.practice.chromium import Chromium, Page
from assistant.practice.rehearsal import Rehearsal, Shot, shots
from assistant.screen.news import Listening, Trouble

UPRIGHT, ACROSS = (800, 1280), (1280, 800)
SHOWN = ("ready", "confirm_width", "pull", "pull_short", "pull_in_band", "pull_over_light", "choose", "closed")
"""Shots that are pictured."""
_WAITS = {"pull": "Say: hello tape measure."}
"""What is waited for there; everywhere else the ears are open."""


def pictures(out: Path) -> None:
    """Every picture into `out`."""
    browser = Chromium()
    tablet = Tablet(TabletWishes(0, may_tap=True), Rehearsal(), lambda trouble: None)
    tablet.open()
    try:
        for name, size in (("upright", UPRIGHT), ("across", ACROSS)):
            page = browser.page(tablet.link, *size)
            for shot in shots():
                if shot.name in SHOWN:
                    _picture(tablet, page, shot, out / f"tablet_{shot.name}_{name}.png")
                if shot.name == "pull_aim":
                    _pad(tablet, page, shot, out / f"tablet_pad_{name}.png")
    finally:
        tablet.close()
        browser.close()


def _show(tablet: Tablet, page: Page, shot: Shot) -> None:
    tablet.tell(Trouble("next"))
    tablet.tell(shot.panel)
    tablet.tell(Listening(0.3, deaf=False, waits=_WAITS.get(shot.name, "")))
    page.wait(f"panel && panel.turn === {shot.panel.turn} && panel.ask === '{shot.panel.ask}'")
    page.js(f"document.documentElement.className = '{shot.theme}'; fit()")


def _picture(tablet: Tablet, page: Page, shot: Shot, file: Path) -> None:
    _show(tablet, page, shot)
    page.picture(file)


def _pad(tablet: Tablet, page: Page, shot: Shot, file: Path) -> None:
    _show(tablet, page, shot)
    page.js("openPad(panel.pads[0].name)")
    for key in ("1", "5/8"):
        page.js(f"[...document.querySelectorAll('#padkeys button')].find((b) => b.textContent === '{key}').click()")
    page.wait("document.getElementById('entry').textContent === '1 5/8'")
    page.picture(file)


if __name__ == "__main__":
    pictures(Path(sys.argv[1]))
