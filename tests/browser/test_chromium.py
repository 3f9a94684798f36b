"""The page in a real browser: touched, typed at, looked at, cut off."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from assistant.browser.looks import capitals_mm
from assistant.browser.tablet import Tablet
from assistant.browser.wishes import TabletWishes
from assistant.practice.chromium import Chromium, Page, chromium
from assistant.practice.rehearsal import METRES, Rehearsal
from assistant.screen.news import Listening, Trouble
from assistant.screen.sight import height_mm
from tests.browser.conftest import OPEN_TO_ALL, Served, serving
from tests.conftest import SETUP

pytestmark = pytest.mark.skipif(chromium() is None, reason="no Chromium here to show the page")
NASTY = "<img src=x onerror=\"document.title='broken'\"><script>document.title='broken'</script>"


@pytest.fixture(scope="module")
def browser() -> Iterator[Chromium]:
    found = Chromium()
    yield found
    found.close()


def opened(browser: Chromium, page: Served, size: tuple[int, int] = (800, 1280)) -> Page:
    found = browser.page(page.tablet.link.replace(OPEN_TO_ALL, "127.0.0.1"), *size)
    found.wait("document.readyState === 'complete'")
    return found


def key(at: int) -> str:
    return f"document.querySelectorAll('#keys .key')[{at}]"


def test_touch_keys_and_pad(browser: Chromium, page: Served) -> None:
    shown, other = opened(browser, page), opened(browser, page, (1280, 800))
    shown.wait("panel && panel.turn === 0")
    shown.touch(key(0))
    shown.wait("document.getElementById('pad').open")
    for each in "42":
        shown.press(each)
    shown.touch("[...document.querySelectorAll('#padkeys button')].find((b) => b.textContent === '7')")
    shown.wait("document.getElementById('entry').textContent === '427'")
    shown.touch("[...document.querySelectorAll('#padkeys button')].find((b) => b.textContent === 'OK')")
    for either in (shown, other):
        either.wait("panel && panel.turn === 1 && !document.getElementById('pad').open")
    assert page.desk.tapped == [(0, "four two seven")] or page.desk.tapped[0][1].endswith("four two seven")
    shown.press("1")
    other.wait("panel && panel.turn === 2")
    assert shown.js("document.getElementById('value').textContent") == page.desk.panel.content.value


def test_keys_are_a_third_wide_and_high_enough(browser: Chromium, page: Served) -> None:
    page.tablet.tell(page.desk.say("job four two seven"))
    for size in ((800, 1280), (1280, 800)):
        shown = opened(browser, page, size)
        shown.wait("panel && panel.turn === 1")
        seen = "[...document.querySelectorAll('button')].filter((each) => each.offsetParent)"
        boxes = shown.js(f"{seen}.map((each) => [each.offsetWidth, each.offsetHeight])")
        assert min(min(box) for box in boxes) >= 44
        assert shown.js(f"{key(0)}.offsetWidth") >= 0.3 * size[0]
        assert shown.js("document.documentElement.scrollWidth") <= size[0]


def test_keys_of_a_pad_held_upright_are_as_wide_as_it_allows_and_lie_anew_when_turned(
    browser: Chromium, page: Served
) -> None:
    page.tablet.tell(page.desk.say(*SETUP))
    shown = opened(browser, page)
    shown.wait("panel && panel.ask === 'pull'")
    shown.touch(key(0))
    shown.wait("document.getElementById('pad').open")
    keys = "[...document.querySelectorAll('#padkeys button')]"
    assert shown.js(f"Math.min(...{keys}.map((each) => each.offsetWidth))") >= 0.18 * 800
    assert shown.js(f"Math.max(...{keys}.map((each) => each.scrollWidth - each.clientWidth))") <= 0, "labels fit"
    shown.press("1")
    shown.wait("document.getElementById('entry').textContent === '1'")
    turned = {"width": 1280, "height": 800, "deviceScaleFactor": 1, "mobile": True}
    rows = shown.js("document.querySelectorAll('#padkeys .row').length")
    shown.call("Emulation.setDeviceMetricsOverride", **turned)
    shown.wait("document.querySelectorAll('#padkeys .row').length === 5")
    assert rows == 8
    assert min(shown.js(f"{keys}.flatMap((each) => [each.offsetWidth, each.offsetHeight])")) >= 44
    shown.press("2")
    shown.wait("document.getElementById('entry').textContent === '12'")


def test_a_choice_stands_on_the_three_keys(browser: Chromium, page: Served) -> None:
    page.desk.say(*METRES)
    page.tablet.tell(page.desk.doubtful("fifteen millimetres", "fifty millimetres"))
    shown = opened(browser, page)
    shown.wait("panel && panel.ask === 'choose'")
    labels = "[...document.querySelectorAll('#keys .key')].map((each) => each.textContent)"
    assert shown.js(labels) == ["15 mm", "50 mm", "Neither"]
    assert shown.js("document.getElementById('value').textContent") == "15\u00a0mm / 50\u00a0mm"
    shown.touch(key(1))
    shown.wait("panel && panel.ask === 'pull'")
    assert page.desk.tapped[-1][1] == "the second"
    assert shown.js("document.getElementById('value').textContent") == "50 mm"


def test_the_sign_of_the_tone_is_seen(browser: Chromium, page: Served) -> None:
    shown = opened(browser, page)
    page.tablet.tell(page.desk.say("job four two seven"))
    shown.wait("panel && panel.turn === 1")
    assert shown.js("document.getElementById('heard').textContent") == "✓ Heard: job four two seven"
    page.tablet.tell(page.desk.say("mumble"))
    shown.wait("panel && panel.turn === 2")
    assert shown.js("document.getElementById('heard').textContent") == "? mumble"


EARS = [
    (Listening(0.3, deaf=False), "Listening.", "open"),
    (Listening(0.3, deaf=False, waits="Say: hello tape measure."), "Say: hello tape measure.", "closed"),
    (Listening(0.3, deaf=False, waits="Press T to talk."), "Press T to talk.", "closed"),
    (Listening(0.0, deaf=True), "Speaking.", "speaking"),
    (Listening(0.0, deaf=False, gone=True), "No microphone.", "gone"),
]


@pytest.mark.parametrize("size", [(800, 1280), (1280, 800)], ids=["upright", "across"])
def test_the_state_of_the_ears_is_read_as_words_and_seen_as_a_shape(
    browser: Chromium, page: Served, size: tuple[int, int]
) -> None:
    """At a pull, where the page is fullest; from one metre its letters span 16 minutes of arc (our choice)."""
    page.tablet.tell(page.desk.say(*SETUP, "one inch"))
    shown = opened(browser, page, size)
    shown.wait("panel && panel.ask === 'pull'")
    assert shown.js("document.getElementById('earwords').textContent") == "No microphone.", "before any is open"
    drawn = set()
    for news, words, shape in EARS:
        page.tablet.tell(news)
        shown.wait(f"document.getElementById('earwords').textContent === '{words}'")
        assert shown.js("document.querySelector('#earshape path').getAttribute('class')") == shape
        drawn.add(shown.js("document.querySelector('#earshape path').getAttribute('d')"))
        box = shown.js("Object.values(document.getElementById('ears').getBoundingClientRect().toJSON())")
        assert box[0] >= 0 and box[0] + box[2] <= size[0], f"'{words}' sticks out"
        theme = shown.js("document.getElementById('theme').getBoundingClientRect().toJSON()")
        assert theme["left"] >= box[0] + box[2], f"'{words}' stands before the button"
        assert theme["bottom"] <= shown.js("document.getElementById('instruction').getBoundingClientRect().top")
        assert shown.js("document.getElementById('live').scrollHeight <= document.getElementById('live').clientHeight")
        assert shown.js("document.querySelector('#earshape path').getBBox().width") >= 60, "of 100: seen"
    assert len(drawn) == 4, "each state has a shape of its own"
    pixels = float(shown.js("parseFloat(getComputedStyle(document.getElementById('ears')).fontSize)"))
    assert capitals_mm(pixels / 8) >= height_mm(16.0, 1000.0)
    assert shown.js("document.getElementById('earwords').checkVisibility()")


def test_the_state_of_the_ears_outlives_the_next_question(browser: Chromium, page: Served) -> None:
    shown = opened(browser, page)
    page.tablet.tell(EARS[1][0])
    page.tablet.tell(page.desk.say("job four two seven"))
    shown.wait("panel && panel.turn === 1")
    assert shown.js("document.getElementById('earwords').textContent") == EARS[1][1]


def test_markup_is_text(browser: Chromium, page: Served) -> None:
    shown = opened(browser, page)
    panel = page.desk.panel
    content = replace(panel.content, instruction=NASTY, value=NASTY, beside=NASTY)
    page.tablet.tell(replace(panel, turn=5, content=content, heard=NASTY, notes=(NASTY,), last=NASTY, target=NASTY))
    shown.wait("panel && panel.turn === 5")
    page.tablet.tell(Trouble(NASTY))
    shown.wait("document.getElementById('trouble').textContent !== ''")
    assert shown.js("document.getElementById('instruction').textContent") == NASTY
    assert shown.js("document.querySelectorAll('img, main script').length") == 0
    assert shown.js("document.title") == "pullcall"


def test_lost_connection_is_told_and_mended(browser: Chromium) -> None:
    with serving() as page:
        port = page.tablet.port
        shown = opened(browser, page)
        shown.wait("panel && document.getElementById('lost').hidden")
    assert shown.wait("!document.getElementById('lost').hidden", 4.0) < 3.0
    assert not shown.js("document.getElementById('instruction').checkVisibility()"), "nothing stale is seen"
    assert float(shown.js("parseFloat(getComputedStyle(document.getElementById('lost')).fontSize)")) >= 99
    silent = Tablet(TabletWishes(port), Rehearsal(), lambda trouble: None)
    silent.open()
    shown.wait("source.readyState === EventSource.OPEN && performance.now() - heardOf < 200", 15.0)
    assert not shown.js("document.getElementById('lost').hidden"), "beats alone bring no old question back"
    silent.close()
    with serving(port=port) as again:
        again.tablet.tell(again.desk.say("job four two seven"))
        shown.wait("panel && panel.turn === 1 && document.getElementById('lost').hidden", 15.0)


def test_code_of_a_closed_job_stays(browser: Chromium) -> None:
    with serving() as page:
        shown = opened(browser, page)
        shown.wait("panel")
        page.tablet.tell(replace(page.desk.panel, turn=9, ask="", keys=(), code="five words"))
        shown.wait("panel.turn === 9")
    with pytest.raises(TimeoutError):
        shown.wait("!document.getElementById('lost').hidden", 3.5)
    assert "five words" in shown.js("document.body.innerText")
    assert not shown.js("document.getElementById('ears').checkVisibility()"), "nobody listens any more"


def test_code_is_asked_when_opened(browser: Chromium) -> None:
    with serving(OPEN_TO_ALL) as page:
        shown = opened(browser, page)
        assert "Code?" in shown.js("document.body.innerText")
        shown.js("document.getElementById('code').focus()")
        for each in page.code.replace(" ", ""):
            shown.press(each)
        shown.touch("document.querySelector('#gate button')")
        shown.wait("typeof panel !== 'undefined' && panel && panel.ask === 'job'")
        assert shown.js("document.cookie") == ""
        assert "Code?" in opened(browser, page).js("document.body.innerText"), "another browser is asked its own"


def test_read_only_page_has_no_keys_to_tap(browser: Chromium) -> None:
    with serving(may_tap=False) as page:
        shown = opened(browser, page)
        shown.wait("panel && panel.turn === 0")
        assert shown.js("document.querySelectorAll('#keys button').length") == 0
        shown.press("1")
        assert not shown.js("document.getElementById('pad').open")


def test_tab_and_enter_reach_the_keys(browser: Chromium, page: Served) -> None:
    page.tablet.tell(page.desk.say("job four two seven"))
    shown = opened(browser, page)
    shown.wait("panel && panel.turn === 1")
    shown.press("Tab")
    shown.press("Tab")
    assert shown.js(f"document.activeElement === {key(0)}")
    shown.press("Enter")
    shown.wait("panel && panel.turn === 2")
    assert shown.js("document.getElementById('instruction').getAttribute('aria-live')") == "assertive"
