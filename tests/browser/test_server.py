"""What the server gives and what it refuses, without a browser."""

import http.client
import json
import os
import socket
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.browser import crowd as crowds
from assistant.browser import handler, server
from assistant.browser.crowd import Crowd, Full, Place
from assistant.browser.gate import LOCKED_S, MOST_BROWSERS, TRIES, Gate
from assistant.browser.handler import MOST_BODY
from assistant.browser.hearing import GONE, Hearing, hearing
from assistant.browser.wishes import TabletWishes
from assistant.cli import main
from assistant.exits import Exit, Refusal
from assistant.practice.rehearsal import Rehearsal
from assistant.screen.news import Listening, Sign, Trouble
from assistant.settings import read_settings
from assistant.sitting import LATE
from tests.browser.conftest import OPEN_TO_ALL, Served, serving

TREE = Path(__file__).parents[2]


def stream(page: Served) -> http.client.HTTPResponse:
    line = http.client.HTTPConnection("127.0.0.1", page.tablet.port, timeout=5)
    line.request("GET", "/news", headers={"Host": page.host})
    return line.getresponse()


def next_event(answer: http.client.HTTPResponse) -> tuple[str, dict[str, object]]:
    """The next news that are no beat and not about the ears."""
    while True:
        line = answer.readline().decode().strip()
        if line.startswith("event: ") and line not in ("event: beat", "event: ears"):
            return line[7:], json.loads(answer.readline().decode().removeprefix("data: "))


def tap(page: Served, **what: object) -> tuple[int, str]:
    return page.ask("POST", "/tap", json.dumps(what))[:2]


def until(true: object, patience_s: float = 5.0) -> bool:
    """Did it come true?"""
    end = time.monotonic() + patience_s
    while not true() and time.monotonic() < end:  # type: ignore[operator]
        time.sleep(0.01)
    return bool(true())  # type: ignore[operator]


def test_page_is_guarded(page: Served) -> None:
    status, text, headers = page.ask("GET", "/")
    assert status == 200 and 'data-may-tap="yes"' in text
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff" and headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("path", ["/page.css", "/page.js", "/room.js"])
def test_parts_are_served_and_fetch_nothing_from_elsewhere(page: Served, path: str) -> None:
    status, text, _ = page.ask("GET", path)
    assert status == 200 and "//" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "innerHTML" not in text and "insertAdjacentHTML" not in text


@pytest.mark.parametrize("path", ["/other", "/../settings.py", "/page.html", "/code.html"])
def test_nothing_else_is_served(page: Served, path: str) -> None:
    assert page.ask("GET", path)[0] == 404
    assert page.ask("POST", path, "{}")[0] == 404


def test_stream_begins_with_the_whole_panel_and_follows(page: Served) -> None:
    one, two = stream(page), stream(page)
    for answer in (one, two):
        kind, panel = next_event(answer)
        assert (kind, panel["ask"], panel["turn"]) == ("panel", "job", 0)
        assert panel["pads"][0]["across"]  # type: ignore[index]
    assert tap(page, turn=0, say="job four two seven")[0] == 202
    assert {next_event(each)[1]["turn"] for each in (one, two)} == {1}
    assert next_event(stream(page))[1]["turn"] == 1, "a third browser gets the present panel"
    one.close()
    two.close()


def test_late_tap_is_told_late(page: Served) -> None:
    answer = stream(page)
    next_event(answer)
    tap(page, turn=0, say="job four two seven")
    next_event(answer)
    assert tap(page, turn=0, say="job four two seven")[0] == 202
    assert next_event(answer) == ("trouble", {"line": "That came too late."})
    assert page.desk.tapped[-1] == (0, "job four two seven") and page.desk.panel.turn == 1


def test_pad_makes_a_sentence(page: Served) -> None:
    body = {"turn": 0, "pad": page.desk.panel.pads[0].name, "presses": ["4", "2", "7"]}
    shown = page.ask("POST", "/shown", json.dumps(body))
    assert shown[0] == 200 and json.loads(shown[1]) == {"shown": "427", "good": True}
    assert page.desk.tapped == [], "only shown"
    assert tap(page, **body)[0] == 202
    assert page.desk.panel.ask == "construction"


@pytest.mark.parametrize(
    "body",
    [
        "",
        "[]",
        "{}",
        "[" * 3000,
        '{"turn": true, "say": "yes"}',
        '{"turn": 0, "say": ""}',
        '{"turn": 0, "say": 5}',
        '{"turn": 0, "say": "job\\nfour"}',
        '{"turn": 0, "say": "what ever this is"}',
        '{"turn": 0, "pad": "none", "presses": []}',
        '{"turn": 0, "pad": "PAD", "presses": ["<b>"]}',
        '{"turn": 0, "pad": "PAD", "presses": [["4"]]}',
        '{"turn": 0, "pad": "PAD", "presses": "4"}',
        json.dumps({"turn": 0, "say": "a" * 201}),
    ],
)
def test_senseless_taps_are_refused(page: Served, body: str) -> None:
    status, told, _ = page.ask("POST", "/tap", body.replace("PAD", page.desk.panel.pads[0].name))
    assert status == 422 and told and "\n" not in told
    assert page.desk.tapped == []


def test_only_shows_unless_allowed() -> None:
    with serving(may_tap=False) as page:
        assert 'data-may-tap="no"' in page.ask("GET", "/")[1]
        status, told = tap(page, turn=0, say="job four two seven")
        assert status == 403 and "--tablet-may-tap" in told and page.desk.tapped == []


@pytest.mark.parametrize("host", ["evil.example:PORT", "127.0.0.1", "127.0.0.1:1", "192.168.1.2:PORT", "", "[::1:PORT"])
def test_foreign_host_is_refused(page: Served, host: str) -> None:
    named = host.replace("PORT", str(page.tablet.port))
    assert page.ask("GET", "/", headers={"Host": named})[0] == 421
    assert page.ask("POST", "/tap", "{}", {"Host": named, "Origin": f"http://{named}"})[0] == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "", "https://HOST"])
def test_foreign_origin_is_refused(page: Served, origin: str) -> None:
    body = json.dumps({"turn": 0, "say": "job four two seven"})
    assert page.ask("POST", "/tap", body, {"Origin": origin.replace("HOST", page.host)})[0] == 403
    assert page.desk.tapped == []


@pytest.mark.parametrize(("length", "status"), [(str(MOST_BODY + 1), 413), ("9" * 5000, 413), ("-1", 411), ("x", 411)])
def test_long_bodies_are_not_read(page: Served, length: str, status: int) -> None:
    assert page.ask("POST", "/tap", headers={"Content-Length": length})[0] == status


def test_opened_page_asks_a_code_and_each_admits_one() -> None:
    with serving(OPEN_TO_ALL) as page:
        assert "Code?" in page.ask("GET", "/")[1]
        assert page.ask("GET", "/news")[0] == 401 and tap(page, turn=0, say="job four two seven")[0] == 401
        code = page.code
        status, _, headers = page.ask("POST", "/code", f"code={code.replace(' ', '+')}")
        cookie = headers["Set-Cookie"]
        assert status == 303 and "HttpOnly" in cookie and "SameSite=Strict" in cookie
        mine = {"Cookie": cookie.partition(";")[0]}
        assert 'id="live"' in page.ask("GET", "/", headers=mine)[1]
        assert page.ask("POST", "/code", f"code={code}")[0] == 403, "used up"
        assert page.ask("GET", "/news", headers={"Cookie": "pullcall=other"})[0] == 401
        assert page.ask("GET", "/", headers={"Host": f"evil.example:{page.tablet.port}"})[0] == 421


def test_wrong_codes_lock() -> None:
    with serving(OPEN_TO_ALL) as page:
        wrong = [page.ask("POST", "/code", "code=no")[0] for _ in range(TRIES)]
        assert wrong == [403] * (TRIES - 1) + [429]
        assert page.ask("POST", "/code", f"code={page.code}")[0] == 429, "not even the right one"


def test_lock_ends_and_the_code_is_another() -> None:
    now, shown = [0.0], list[str]()
    gate = Gate(shown.append, lambda: now[0])
    gate.remind()
    gate.remind()
    assert len(shown) == 1, "not again at once"
    for _ in range(TRIES):
        assert gate.admit("x") == ""
    assert len(shown) == 2 and gate.admit(shown[-1]) == "" and gate.admit("é") == ""
    now[0] = LOCKED_S + 0.1
    assert gate.admit(shown[0]) == "" or shown[0] == shown[1]
    token = gate.admit(shown[-1])
    assert token and gate.knows(token) and not gate.knows("") and not gate.knows("é")


def test_oldest_browser_is_forgotten_for_one_too_many() -> None:
    shown = list[str]()
    gate = Gate(shown.append)
    gate.remind()
    tokens = [gate.admit(shown[-1]) for _ in range(MOST_BROWSERS + 1)]
    assert [gate.knows(each) for each in tokens] == [False, *[True] * MOST_BROWSERS]


def test_vanished_browser_frees_its_place(page: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(handler, "BEAT_S", 0.02)
    answer = stream(page)
    next_event(answer)
    looking = page.tablet._crowd
    assert len(looking) == 1
    answer.close()
    assert until(lambda: len(looking) == 0)


def test_slow_browser_keeps_only_the_newest() -> None:
    crowd, panel = Crowd(), Rehearsal().panel
    with crowd.place() as place:
        assert place.take(0) == (GONE,)
        for turn in range(10_000):
            crowd.tell(replace(panel, turn=turn))
            crowd.tell(Sign(str(turn)))
        newest = place.take(0)
        assert newest == (replace(panel, turn=9999), Sign("9999"))
        crowd.tell(Trouble("old"))
        crowd.tell(panel)
        assert place.take(0) == (panel,) and place.take(0) == ()


def test_the_state_of_the_ears_is_told_at_once_when_it_changes_and_then_no_more() -> None:
    crowd, panel = Crowd(), Rehearsal().panel
    crowd.tell(panel)
    with crowd.place() as place:
        assert place.take(0) == (panel, GONE), "nobody listens yet"
        for peak in (0.1, 0.9):
            crowd.tell(Listening(peak, deaf=False, waits="Press T to talk."))
        crowd.tell(panel)
        assert place.take(0) == (Hearing("closed", "Press T to talk."), panel), "no panel outdates it"
        crowd.tell(Listening(0.5, deaf=False, waits="Press T to talk."))
        assert place.take(0) == ()
        crowd.tell(Listening(0.5, deaf=False))
        with crowd.place() as late:
            assert late.take(0) == (panel, Hearing("open", "Listening."))


@pytest.mark.parametrize(
    ("news", "told"),
    [
        (Listening(0.5, deaf=False, hint="Too quiet."), Hearing("open", "Listening.")),
        (Listening(0.0, deaf=True, waits="Say: wake up."), Hearing("speaking", "Speaking.")),
        (Listening(0.0, deaf=True, gone=True, waits="Say: wake up."), GONE),
    ],
)
def test_the_state_of_the_ears_is_the_most_telling(news: Listening, told: Hearing) -> None:
    assert hearing(news) == told


def test_no_more_browsers_than_allowed(page: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crowds, "MOST", 1)
    kept = stream(page)
    next_event(kept)
    assert stream(page).status == 503
    with pytest.raises(Full), page.tablet._crowd.place():
        pass
    kept.close()


def test_no_more_connections_than_allowed(page: Served) -> None:
    idle = [socket.create_connection(("127.0.0.1", page.tablet.port)) for _ in range(server.MOST_CONNECTIONS)]
    assert until(lambda: page.ask("GET", "/")[0] == 503)
    for each in idle:
        each.close()
    assert until(lambda: page.ask("GET", "/")[0] == 200)


def test_trickling_request_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(handler, "_WHOLE_REQUEST_S", 0.2)
    with serving() as page, socket.create_connection(("127.0.0.1", page.tablet.port), timeout=3) as line:
        line.sendall(b"GET / HTTP/1.0\r\nHost: ")
        assert line.recv(100) == b""


def test_end_of_the_job_ends_the_streams(page: Served) -> None:
    answer = stream(page)
    next_event(answer)
    page.tablet.close()
    assert until(lambda: not answer.readline().strip() and not answer.read())
    assert Place().take(0) == ()


def test_taken_port_is_named_and_the_job_goes_on(page: Served) -> None:
    with serving(port=page.tablet.port) as other:
        assert other.told == [
            f"no tablet: port {page.tablet.port} is taken; give another, as in --tablet {page.tablet.port % 65000 + 1}"
        ]
        other.tablet.tell(other.desk.panel)


def test_program_serves_beside_its_plain_lines(tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    code = "import sys; from assistant.cli import main; sys.exit(main())"
    options = ["--no-mic", "--quiet", "--plain", "--tablet", str(port), "--tablet-may-tap"]
    (tmp_path / "settings.toml").touch()
    environment = os.environ | {"PYTHONPATH": str(TREE), "PULLCALL_SETTINGS": str(tmp_path / "settings.toml")}
    command = [sys.executable, "-c", code, *options]
    program = subprocess.Popen(command, cwd=tmp_path, env=environment, stdin=-1, stdout=-1, stderr=-1, text=True)
    try:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        assert until(lambda: _connects(line), 20.0)
        line.request("GET", "/news")
        answer = line.getresponse()
        assert next_event(answer)[1]["ask"] == "job"
        other = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        for turn in (0, 0):
            body = json.dumps({"turn": turn, "say": "job four two seven"})
            other.request("POST", "/tap", body, {"Origin": f"http://127.0.0.1:{port}"})
            assert other.getresponse().read() == b""
            other.close()
        kind, told = next_event(answer)
        while kind != "trouble":  # signs and panels come between, as many as the stream was quick enough for
            kind, told = next_event(answer)
        assert LATE in str(told["line"])
    finally:
        out, err = program.communicate("", timeout=20)
    assert program.returncode == 0 and f"open http://127.0.0.1:{port}/" in err and LATE in err
    assert "heard: job four two seven" in out


def _connects(line: http.client.HTTPConnection) -> bool:
    try:
        line.connect()
    except OSError:
        return False
    return True


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (["--tablet", "80"], "--tablet 80"),
        (["--tablet", "--open-to", "our.host"], "--open-to our.host"),
        (["--open-to", "127.0.0.1"], "add --tablet"),
        (["--tablet-may-tap"], "add --tablet"),
    ],
)
def test_bad_options_are_named(options: list[str], named: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--plain", "--no-mic", "--quiet", *options]) == Exit.USAGE
    assert named in capsys.readouterr().err


@pytest.mark.parametrize("line", ["port = 80", "port = true", 'address = "host"', "address = 5", "may_tap = 1"])
def test_bad_settings_are_named(line: str, tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(f"[tablet]\n{line}\n", encoding="utf-8")
    with pytest.raises(Refusal) as refusal:
        read_settings(file)
    assert refusal.value.code == Exit.BAD_SETTINGS and f"tablet.{line.split()[0]}" in refusal.value.line


def test_settings_are_heeded(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('[tablet]\nport = 9000\naddress = "0.0.0.0"\nmay_tap = true\n', encoding="utf-8")
    assert read_settings(file).tablet == TabletWishes(9000, OPEN_TO_ALL, True)


def test_strange_address_is_named() -> None:
    with serving("203.0.113.7") as page:
        assert "203.0.113.7 is not an address of this machine" in page.told[0]
