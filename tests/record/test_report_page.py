"""The report as a browser shows it: quiet, readable, reachable by pointer, finger and keyboard, true to the summary.

Each check is held against a page made wrong on purpose, so that it is known to find something.
"""

import json
import re
from collections.abc import Iterator
from fractions import Fraction
from math import hypot
from pathlib import Path
from typing import Any

import pytest

from assistant.core import events as ev
from assistant.core.length import System, feet
from assistant.practice.chromium import Page, chromium
from assistant.record.report import render_html, render_json, render_sheet
from assistant.record.summary import JobSummary, summarise
from tests.contrast import contrast
from tests.record import scenario
from tests.record.report_browser import DESK, DRAWN, PHONE, TEXTS, ZOOMED, Watcher, watcher
from tests.record.test_report import HOSTILE, with_words

WHOLE = summarise(scenario.rows())
TEXT_LEAST, TEXT_AIM, DRAWN_LEAST = 4.5, 7.0, 3.0
"""WCAG 2.2: 1.4.3 (level AA, text), 1.4.6 (AAA, text), 1.4.11 (AA, what is drawn)."""


def large() -> JobSummary:
    """A hall of over a hundred pulls: charts in several rows."""
    turns = scenario.whole()
    at = next(number for number, (_, turn) in enumerate(turns) if any(isinstance(each, ev.Proposed) for each in turn))
    size = ev.Proposed(ev.SidesSet(feet(60), feet(40), System.IMPERIAL), "confirm_sides")
    turns[at] = (6, (ev.Said("size", "sixty by forty", 1.0, "voice"), size))
    return summarise(scenario.rows(turns))


REPORTS = {
    "whole": WHOLE,
    "half": summarise(scenario.rows(scenario.whole()[:24]), "row 50 was changed"),
    "empty": summarise(()),
    "hostile": with_words(HOSTILE),
    "large": large(),
}


@pytest.fixture(scope="module")
def browser() -> Iterator[Watcher]:
    if chromium() is None:
        pytest.skip("no Chromium here to look at the report with: apt install chromium")
    with watcher() as found:
        yield found


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("reports")
    for name, summary in REPORTS.items():
        (folder / f"{name}.html").write_text(render_html(summary), encoding="utf-8")
    (folder / "sheet.html").write_text(render_sheet(WHOLE), encoding="utf-8")
    return folder


def spoilt(shelf: Path, name: str, old: str, new: str) -> Path:
    """The whole report made wrong."""
    text = (shelf / "whole.html").read_text(encoding="utf-8")
    assert old in text
    path = shelf / f"spoilt-{name}.html"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


# Nothing is fetched, nothing complains.


@pytest.mark.parametrize("name", [*REPORTS, "sheet"])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_it_is_quiet_and_asks_for_nothing(browser: Watcher, shelf: Path, name: str, dark: bool) -> None:
    path = shelf / f"{name}.html"
    browser.show(path, dark=dark)
    assert browser.complaints == [] and browser.asked_for == [path.as_uri()]


def test_a_page_that_fetches_or_runs_would_be_found(browser: Watcher, shelf: Path) -> None:
    browser.show(
        spoilt(shelf, "fetch", "<main>", '<main><img src="http://192.0.2.1/a.png" alt=""><script>x()</script>')
    )
    assert len(browser.complaints) >= 2  # the policy forbids both, and says so
    open_policy = spoilt(shelf, "open", "default-src 'none'; ", "").read_text(encoding="utf-8")
    path = shelf / "spoilt-open.html"
    path.write_text(open_policy.replace("<main>", '<main><img src="b.png" alt="">'), encoding="utf-8")
    browser.show(path)
    assert browser.asked_for == [path.as_uri(), (shelf / "b.png").as_uri()]


# A pull's history by pointer, finger and keyboard.

IN_FOCUS = "document.activeElement.id"


def seen(page: Page) -> list[str]:
    """Which histories are seen."""
    found: list[str] = page.js(
        "[...document.querySelectorAll('.card')].filter(c => c.checkVisibility()).map(c => c.id)"
    )
    return found


def point_at(page: Page, element: str) -> None:
    page.js(f"document.querySelector('{element}').scrollIntoView({{block: 'center'}})")
    middle = "(b => [b.x + b.width / 2, b.y + b.height / 2])"
    x, y = page.js(f"{middle}(document.querySelector('{element}').getBoundingClientRect())")
    page.call("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y)


def test_pointing_at_a_pull_shows_its_history(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html")
    assert seen(page) == []
    point_at(page, "#at-7")
    assert seen(page) == ["pull-7"]
    told = page.js("document.querySelector('#pull-7').innerText")
    for each in ("Pull 7", "reading 2 3/8 in", "“scratch that”", "scratched: reading 2 3/8 in", "hooked"):
        assert each in told
    point_at(page, "h1")
    assert seen(page) == []


def test_a_tap_keeps_it_open_and_close_shuts_it(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html", PHONE)
    page.js("document.querySelector('#at-7').scrollIntoView({block: 'start'})")
    page.touch("document.querySelector('#at-7')")
    page.wait("location.hash == '#pull-7'")
    assert seen(page) == ["pull-7"]
    box = page.js(
        "(b => [b.left, b.right, b.top, b.bottom])(document.querySelector('#pull-7').getBoundingClientRect())"
    )
    assert box[0] >= 0 and box[1] <= PHONE[0] and box[2] >= 0 and box[3] <= PHONE[1]
    page.touch("document.querySelector('#pull-7 .shut')")
    page.wait("location.hash == '#at-7'")
    page.js("document.activeElement.blur()")
    point_at(page, "h1")
    assert seen(page) == []


def test_the_keyboard_reaches_every_pull(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html")
    page.press("Tab")
    assert page.js("document.activeElement.innerText") == "Past the drawing's 18 pulls"
    assert page.js("document.activeElement.getBoundingClientRect().left") >= 0
    reached = []
    for _ in range(18):
        page.press("Tab")
        reached.append(page.js(IN_FOCUS))
        assert seen(page) == [f"pull-{len(reached)}"]
        assert page.js("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    assert reached == [f"at-{number}" for number in range(1, 19)]
    page.press("Enter")
    page.wait("location.hash == '#pull-18'")
    assert page.js(IN_FOCUS) == "pull-18" and seen(page) == ["pull-18"]
    page.press("Tab")
    assert page.js("document.activeElement.className") == "shut"
    page.press("Enter")
    page.wait("location.hash == '#at-18'")
    assert page.js(IN_FOCUS) == "at-18"


def test_the_keyboard_gets_past_a_hall_of_pulls(browser: Watcher, shelf: Path) -> None:
    """WCAG 2.2, 2.4.1."""
    page = browser.show(shelf / "large.html")
    page.press("Tab")
    page.press("Enter")
    page.wait("location.hash == '#exceptions'")
    assert page.js(IN_FOCUS) == "exceptions"
    page.press("Tab")
    assert not page.js("document.activeElement.closest('.spots')")


def test_the_spots_lie_on_the_marks(browser: Watcher, shelf: Path) -> None:
    """In every window, whatever limits the drawing's size."""
    for name in ("whole", "large"):
        for size in (DESK, PHONE, (1600, 500)):
            page = browser.show(shelf / f"{name}.html", size)
            off = page.js("""(() => {
              const middle = b => [b.x + b.width / 2, b.y + b.height / 2];
              const marks = [...document.querySelectorAll('.plan g > svg')].map(e => middle(e.getBoundingClientRect()));
              const spots = [...document.querySelectorAll('.spot')].map(e => middle(e.getBoundingClientRect()));
              return Math.max(...marks.map((m, i) => Math.hypot(m[0] - spots[i][0], m[1] - spots[i][1])));
            })()""")
            assert off < 2, (name, size)


def test_a_finger_finds_a_pull(browser: Watcher, shelf: Path) -> None:
    """24 CSS px at least, and no two on top of each other (WCAG 2.2, 2.5.8)."""
    page = browser.show(shelf / "whole.html", PHONE)
    boxes = page.js("""[...document.querySelectorAll('.spot')].map(e => e.getBoundingClientRect()).map(
      b => [b.x + b.width / 2, b.y + b.height / 2, Math.min(b.width, b.height)])""")
    assert min(size for _, _, size in boxes) >= 24
    for at, (x, y, size) in enumerate(boxes):
        assert all(hypot(x - u, y - v) > size - 1 for u, v, _ in boxes[at + 1 :])


# Words for what is drawn.


def unnamed(page: Page) -> list[str]:
    """Images of the accessibility tree without a name, and controls without one."""
    page.call("Accessibility.enable")
    nodes = page.call("Accessibility.getFullAXTree")["nodes"]
    asked = ("image", "link", "region", "img", "button")
    return [
        each["role"]["value"]
        for each in nodes
        if not each.get("ignored") and each["role"]["value"] in asked and not each.get("name", {}).get("value")
    ]


@pytest.mark.parametrize("name", [*REPORTS, "sheet"])
def test_every_drawing_and_link_has_words(browser: Watcher, shelf: Path, name: str) -> None:
    page = browser.show(shelf / f"{name}.html")
    assert unnamed(page) == []
    drawings = "[...document.querySelectorAll('svg, img')].filter(e => !e.closest('[aria-hidden=true]')"
    plain = page.js(f"{drawings} && !(e.getAttribute('aria-label') || e.getAttribute('aria-labelledby'))).length")
    assert plain == 0


def test_a_drawing_without_words_would_be_found(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html")
    page.js("document.querySelector('.graph').removeAttribute('aria-label')")
    page.js("document.querySelector('#at-1').removeAttribute('aria-label')")
    assert {"link"} < set(unnamed(page))


# Contrast.


def faint(found: list[dict[str, Any]], least: float) -> list[tuple[str, float]]:
    ratios = [(each["text"], round(contrast(each["ink"], each["ground"]), 2)) for each in found]
    return [each for each in ratios if each[1] < least]


@pytest.mark.parametrize("name", ["whole", "half", "sheet"])
@pytest.mark.parametrize("look", ["light", "dark", "print"])
def test_contrast_as_it_is_rendered(browser: Watcher, shelf: Path, name: str, look: str) -> None:
    page = browser.show(shelf / f"{name}.html", dark=look == "dark", media="print" if look == "print" else "screen")
    if name == "whole" and look != "print":
        page.js("location.hash = '#pull-7'")
    found = page.js(TEXTS)
    assert len(found) > 80
    assert faint(found, TEXT_LEAST) == [] and faint(found, TEXT_AIM) == []
    assert faint(page.js(DRAWN), DRAWN_LEAST) == []


def test_faint_text_would_be_found(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html")
    page.js("document.querySelector('h1').style.color = '#777'")
    page.js("document.querySelector('.graph .level').style.fill = '#ccc'")
    page.js("document.querySelector('.tiles div').style.background = '#333'")
    found = {text for text, _ in faint(page.js(TEXTS), TEXT_LEAST)}
    assert {"Job 0427", "Length", "0.9"} <= found  # #777 on white is 4.48


# Widths and paper.

BEYOND = """
[...document.querySelectorAll('body *')].filter(e => e.checkVisibility() && !e.closest('.wide, .hidden, defs, symbol')
  && e.getBoundingClientRect().right > document.documentElement.clientWidth + 1).map(e => e.outerHTML.slice(0, 80))
"""
WIDER = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.mark.parametrize("name", [*REPORTS, "sheet"])
@pytest.mark.parametrize("size", [PHONE, ZOOMED, DESK], ids=["phone", "zoom 200 %", "desk"])
def test_nothing_is_wider_than_the_window(browser: Watcher, shelf: Path, name: str, size: tuple[int, int]) -> None:
    page = browser.show(shelf / f"{name}.html", size)
    assert not page.js(WIDER) and page.js(BEYOND) == []


def test_something_wider_would_be_found(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html", PHONE)
    page.js("document.querySelector('h2').style.width = '500px'")
    assert page.js(WIDER) and page.js(BEYOND)


PAPER = {"A4": (210, 297), "letter": (215.9, 279.4)}
"""Millimetres."""


@pytest.mark.parametrize("paper", PAPER)
@pytest.mark.parametrize("name", REPORTS)
def test_paper_cuts_nothing_off(browser: Watcher, shelf: Path, name: str, paper: str) -> None:
    """Laid out on the paper's width less the margins of `@page`, nothing sticks out, no block is taller than a page."""
    wide, high = ((mm - margin) / 25.4 * 96 for mm, margin in zip(PAPER[paper], (26, 28), strict=True))
    page = browser.show(shelf / f"{name}.html", (int(wide), int(high)), media="print")
    assert not page.js(WIDER) and page.js(BEYOND.replace(".wide, ", "")) == []
    tall = "[...document.querySelectorAll('tr, figure, .graph, .tiles div, .list li, .cautions div, .proof')]"
    assert page.js(f"Math.max(0, ...{tall}.map(e => e.getBoundingClientRect().height))") < high
    assert page.js("[...document.querySelectorAll('.card, .spots')].every(e => !e.checkVisibility())")
    assert page.call("Page.printToPDF", preferCSSPageSize=True)["data"]


def test_a_table_too_wide_for_the_paper_would_be_found(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html", (690, 1000), media="print")
    page.js("document.querySelector('table.pulls').style.minWidth = '900px'")
    assert page.js(WIDER)


# The figures are the summary's.


def cells(page: Page, table: str) -> list[list[str]]:
    rows = f"[...document.querySelectorAll('{table} tbody tr')].filter(r => !r.classList.contains('pass'))"
    found: list[list[str]] = page.js(f"{rows}.map(r => [...r.cells].map(c => c.innerText.trim()))")
    return found


def two(value: str | None) -> str:
    """'1.06 %' of an exact fraction."""
    return "–" if value is None else f"{float(Fraction(value)):.2f} %"


def shown(length: dict[str, str] | None) -> str:
    return "–" if length is None else length["tape"]


def test_the_figures_are_those_of_the_summary(browser: Watcher, shelf: Path) -> None:
    """Held against the JSON, which is made from the exact values apart from the page."""
    told = json.loads(render_json(WHOLE))
    page = browser.show(shelf / "whole.html")
    rows = cells(page, "table.pulls:has(.stretch)")
    assert len(rows) == len(told["pulls"])
    for row, pull in zip(rows, told["pulls"], strict=True):
        assert row[0] == str(pull["number"]) and row[1].split("\n")[0]
        assert row[2] == f"{shown(pull['least'])} to {shown(pull['most'])}"
        assert row[3] == (", ".join(f"{shown(r['moved'])} {r['manner']}".strip() for r in pull["readings"]) or "–")
        assert row[4].split("\n")[0] == shown(pull["hold"])
        assert row[5].split("\n") == [shown(pull["outcome"]), *([pull["outcome_by"]] if pull["outcome_by"] else [])]
        assert row[6] == two(pull["percent"]) and row[7].split("\n")[0] == pull["verdict"]
    for row, each in zip(cells(page, '[aria-label="By direction"] table'), told["directions"], strict=True):
        assert row[0] == each["direction"] and row[1] == each["verdict"] and row[5] == two(each["average_percent"])


def test_the_tiles_are_those_of_the_summary(browser: Watcher, shelf: Path) -> None:
    told = json.loads(render_json(WHOLE))
    page = browser.show(shelf / "whole.html")
    found = page.js("[...document.querySelectorAll('.tiles div')].map(d => [...d.children].map(e => e.innerText))")
    tiles = {name: (figure, remark) for name, figure, remark in found}
    for each in told["directions"]:
        figure, remark = tiles[each["direction"].capitalize()]
        assert figure == each["verdict"]
        assert remark.startswith(f"average {two(each['average_percent'])}, asked 1 to 1.5 %")
    judged = sum(count for mark, count in told["counts"].items() if mark != "skipped")
    measured = sum(each["outcome_by"] == "measured" for each in told["pulls"])
    assert tiles["In band after hooking"] == (
        f"{told['counts']['in band']} of {judged}",
        f"88 %; {measured} measured, {judged - measured} estimated",
    )
    worst = told["pulls"][told["worst_pull"] - 1]
    assert tiles[f"Worst: pull {told['worst_pull']}"][0] == two(worst["percent"])
    assert tiles["Left out"] == ("1 pull", "pull 6: doorway")
    assert tiles["Conditions"] == ("1 outside", "temperature; 6 not recorded")


def test_the_chart_stands_where_the_figures_say(browser: Watcher, shelf: Path) -> None:
    """Shapes and strokes are read off against the axis as it is drawn."""
    told = {each["number"]: each for each in json.loads(render_json(WHOLE))["pulls"]}
    page = browser.show(shelf / "whole.html")
    drawn = page.js("""[...document.querySelectorAll('.graph')].slice(0, 2).map(g => {
      const number = (e, a) => Number(e.getAttribute(a));
      return {
        levels: [...g.querySelectorAll('.level')].map(t => [number(t, 'y'), Number(t.textContent)]),
        pulls: [...g.querySelectorAll('.number')].map(t => [Number(t.textContent), number(t, 'x')]),
        shapes: [...g.querySelectorAll('svg')].map(
          s => [number(s, 'x') + 9, number(s, 'y') + 9, s.getAttribute('class')]),
        limit: [...g.querySelectorAll('.limit')].map(l => number(l, 'y1')),
      };
    })""")
    checked = 0
    for chart in drawn:
        (low_y, low), (high_y, high) = chart["levels"][0], chart["levels"][-1]

        def value(y: float, at: tuple[float, ...] = (low_y, low, high_y, high)) -> float:
            return at[1] + (y - at[0]) / (at[2] - at[0]) * (at[3] - at[1])

        assert value(chart["limit"][0]) == pytest.approx(1, abs=0.002)
        for (number, x), (shape_x, y, mark) in zip(chart["pulls"], chart["shapes"], strict=True):
            pull = told[number]
            assert x == pytest.approx(shape_x, abs=0.01) and mark == pull["verdict"].replace(" ", "-")
            if pull["percent"] is not None:
                assert value(y) == pytest.approx(float(Fraction(pull["percent"])), abs=0.002)
                checked += 1
    assert checked == 17


def test_how_often_the_recogniser_was_wrong(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html")
    told = json.loads(render_json(WHOLE))["hearing"]
    rows = cells(page, '[aria-label="Utterances in doubt"] table')
    assert {row[0].replace(" ", "_"): int(row[1]) for row in rows} == {
        each: told[each] for each in ("not_understood", "offered", "turned_down", "taken_back", "refused")
    }
    assert sum(int(row[1]) for row in rows) == told["doubtful"]
    text = page.js("document.body.innerText")
    assert re.search(rf"At most {told['doubtful']} of {told['spoken']} utterances \(5.4 %\)", text)


def test_the_histories_are_those_of_the_summary(browser: Watcher, shelf: Path) -> None:
    page = browser.show(shelf / "whole.html")
    cards = page.js("""[...document.querySelectorAll('.card')].map(c =>
      [...c.querySelectorAll('.moments li')].map(l => [...l.children].map(e => e.textContent.trim())))""")
    for found, pull in zip(cards, json.loads(render_json(WHOLE))["pulls"], strict=True):
        assert found == [
            [each["wall"][11:19], f"{each['told']} “{each['heard']}”" if each["heard"] else each["told"]]
            for each in pull["history"]
        ]
