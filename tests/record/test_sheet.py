"""The inspection sheet: everything an inspector asks for, on one page, and what nobody told stays visible."""

import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from assistant.core import events as ev
from assistant.core.length import System, feet, inches
from assistant.exits import Exit
from assistant.record.report import render_sheet
from assistant.record.review import review
from assistant.record.summary import summarise
from tests.record import scenario

WHOLE = render_sheet(summarise(scenario.rows()))


def text_of(html: str) -> str:
    """What is read, one space between words."""

    class Reader(HTMLParser):
        parts: list[str]

        def handle_data(self, data: str) -> None:
            self.parts.append(data)

    reader = Reader()
    reader.parts = []
    reader.feed(html[html.index("<body>") :])
    return " ".join(" ".join(reader.parts).split())


def test_it_holds_what_an_inspector_asks_for() -> None:
    text = text_of(WHOLE)
    for told in (
        "Inspection sheet: Job 0427",
        "Date and time 2026-03-17 08:05 to 2026-03-17 09:48",
        "Room 16 ft 2 in × 12 ft 3 5/8 in",
        "Construction tufted synthetic",
        "Sequence cross - length - cross",
        "temperature 62 °F outside",
        "humidity 45 % within",
        "length 1 to 1.5 % default, no maker's figure given 1.09 %",
        "1 1/8 in, 1 5/8 in strong 1 9/16 in 1.06 % in band",
        "Wrinkle, ripple, seam, loose, damage: pull 5: wrinkle.",
        "skipped; doorway",
        "recorded by pullcall 0.1.0, speech model en-small sha256:1f0c",
    ):
        assert told in text, told
    assert len(re.findall(r"<tr><th scope=\"row\">\d+</th>", WHOLE)) == 18


@pytest.mark.parametrize(
    "item", ["unrolled", "cushion", "strip", "gully", "slab humidity", "slab pH", "Carpet: maker, style, lot", "Seams"]
)
def test_what_was_not_told_stays_visible(item: str) -> None:
    assert re.search(rf"{item}[^<]*</(th|dt)>\s*<(td|dd)[^>]*><span class=\"blank\">not recorded</span>", WHOLE)


@pytest.mark.parametrize("count", [0, 1, 2, 6, 13, 30])
def test_half_a_job_has_its_sheet(count: int) -> None:
    text = text_of(render_sheet(summarise(scenario.rows(scenario.whole()[:count]))))
    assert "not recorded" in text and "Job code so far" in text


def test_damage_and_practice_are_told() -> None:
    text = text_of(render_sheet(summarise(scenario.rows(), "row 50 was changed")))
    assert "Not all of this record could be read: row 50 was changed. What follows rests on 153 rows." in text
    started = ev.Started("PRACTICE on simulated carpet 7, pullcall 1", "m", scenario.started().order)
    rows = scenario.rows([(0, (started,)), *scenario.whole()[1:]])
    assert "PRACTICE on a simulated carpet" in text_of(render_sheet(summarise(rows)))


def test_markup_in_what_was_said_is_inert() -> None:
    evil = "<script>alert(1)</script>\"'&"
    started = ev.Started(evil, evil, scenario.started().order)
    turns = [(0.0, (started,)), (6.0, (ev.JobNamed(evil),)), *scenario.whole()[2:]]
    html = render_sheet(summarise(scenario.rows(turns)))
    assert "<script" not in html and "&lt;script&gt;" in html
    assert "default-src 'none'" in html


def test_only_where_it_is_asked_for(tmp_path: Path) -> None:
    job = scenario.write(tmp_path / "0427.job")
    assert [each.name for each in review(job).files] == ["0427.html", "0427.csv", "0427.json"]
    found = review(job, tmp_path / "out", sheet=True)
    assert found.code is Exit.DONE and found.files[-1] == tmp_path / "out" / "0427-sheet.html"
    assert found.files[-1].read_text(encoding="utf-8") == WHOLE
    assert f"written    {found.files[-1]}" in found.text


def big_room() -> str:
    """36 pulls or more: they stand in two columns."""
    turns = scenario.whole()
    at = next(number for number, (_, turn) in enumerate(turns) if any(isinstance(each, ev.Proposed) for each in turn))
    size = ev.Proposed(ev.SidesSet(feet(28), feet(24), System.IMPERIAL), "confirm_sides")
    turns[at] = (6, (ev.Said("size", "twenty eight by twenty four", 1.0, "voice"), size))
    return render_sheet(summarise(scenario.rows(turns)))


def many_bites() -> str:
    """As the ordinary one, each pull in three bites."""
    turns: list[scenario.Turn] = []
    for seconds, told in scenario.whole():
        reads = any(isinstance(each, ev.ReadingTaken) for each in told)
        turns += [(5.0, (ev.ReadingTaken(inches("9/16"), "light"),))] * (2 if reads else 0) + [(seconds, told)]
    return render_sheet(summarise(scenario.rows(turns)))


ROOMS = {"ordinary": lambda: WHOLE, "many bites": many_bites, "big": big_room}


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("room", ROOMS)
def test_it_prints_on_one_page(tmp_path: Path, paper: str, room: str) -> None:
    browser = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if browser is None:
        pytest.skip("no Chromium here to print with")
    html = ROOMS[room]()
    assert html.count('<table class="pulls">') == (2 if room == "big" else 1)
    page = tmp_path / "sheet.html"
    page.write_text(html.replace("@page {", f"@page {{ size: {paper};"), encoding="utf-8")
    pdf = tmp_path / "sheet.pdf"
    order = [browser, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}"]
    order += ["--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri()]
    subprocess.run(order, check=True, capture_output=True, timeout=300)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf.read_bytes())) == 1
