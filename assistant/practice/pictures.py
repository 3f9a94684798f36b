"""Pictures of a session and of a report for the README; needs Chromium.

pullcall demo --out FOLDER > PRINTOUT
python -m assistant.practice.pictures FOLDER/demo.html PRINTOUT docs
"""

import html
import subprocess
import sys
import tempfile
from pathlib import Path

from assistant.practice.chromium import Chromium

_PAGE = """<meta charset="utf-8"><style>
body {{ margin: 0; background: #101418; color: #f2f2f2; font: 20px/1.4 monospace; }}
pre {{ margin: 28px 36px; white-space: pre-wrap; }} b {{ color: #f0e442; }} i {{ color: #56b4e9; font-style: normal; }}
</style><pre>{text}</pre>"""
_SHOWN = range(85, 141)
"""Lines of the printout in the picture: from the first pull on."""


def session_page(printout: str) -> str:
    """A page that shows part of a session: the installer's words yellow, the helper's calls blue."""
    lines = (html.escape(line) for number, line in enumerate(printout.splitlines(), start=1) if number in _SHOWN)
    return _PAGE.format(text="\n".join(map(_coloured, lines)))


def _coloured(line: str) -> str:
    if line.startswith("["):
        return f"<b>{line}</b>"
    return f"<i>{line}</i>" if line.lstrip().startswith("helper:") else line


def photograph(page: Path, picture: Path, width: int, height: int) -> None:
    """Save what a browser window of that size shows of `page`."""
    with tempfile.TemporaryDirectory() as profile:
        command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
        command += [f"--user-data-dir={profile}", f"--window-size={width},{height}"]
        command += [f"--screenshot={picture.resolve()}"]
        subprocess.run([*command, page.resolve().as_uri()], check=True, stderr=subprocess.DEVNULL)


def report_pictures(report: Path, out: Path) -> None:
    """The report as it is seen: top light and dark, a pull's history, the charts, a telephone."""
    browser = Chromium()
    link = report.resolve().as_uri()
    for name, size, scheme, act in _VIEWS:
        page = browser.page("about:blank", *size)
        page.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        page.call("Page.navigate", url=link)
        page.wait("document.readyState == 'complete' && document.querySelectorAll('main').length == 1")
        page.js(act)
        page.picture(out / f"{name}.png")
    browser.close()


_CHARTS = "document.querySelectorAll('h2').forEach(h => h.innerText.startsWith('Evenness') && h.scrollIntoView())"
_HISTORY = "document.querySelector('.drawing').scrollIntoView(); document.querySelector('#at-4').click()"
_VIEWS = (
    ("report", (1280, 1700), "light", ""),
    ("report_dark", (1280, 1700), "dark", ""),
    ("report_history", (1280, 900), "light", _HISTORY),
    ("report_charts", (1280, 1700), "light", _CHARTS),
    ("report_phone", (380, 800), "light", ""),
)
"""Name, window, colours, and what is done in the page before it is pictured."""


if __name__ == "__main__":
    report, printout, out = map(Path, sys.argv[1:])
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder, "session.html")
        page.write_text(session_page(printout.read_text(encoding="utf-8")), encoding="utf-8")
        photograph(page, out / "session.png", 1000, 1620)
    report_pictures(report, out)
