"""`pullcall` alone: begins or resumes a job with microphone, voice and screen, or with what there is of them."""

import argparse
import os
import sys
import threading
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

from assistant.browser.hosts import is_address
from assistant.browser.wishes import PORTS, TabletWishes
from assistant.exits import Exit, Refusal
from assistant.job_shelf import named, new_path, which_job
from assistant.pedal_setting import keep_pedal
from assistant.record.clock import SystemClock
from assistant.record.job_file import begin_job, resume_job
from assistant.record.review import review
from assistant.screen.news import Listening, News, Sign, Trouble
from assistant.screen.panel import Panel
from assistant.screen.plain import TALK, OfTheEars, answer, lines_of
from assistant.settings import Settings, settings_file
from assistant.work import Wishes, Work

if TYPE_CHECKING:
    from assistant.screen.app import PullcallApp


def run(options: argparse.Namespace, settings: Settings) -> Exit:
    """Work on a job until it is closed or left. Raises Refusal (BAD_JOB, JOB_BUSY, NOT_WRITABLE)."""
    tablet = tablet_wishes(options, settings.tablet)
    path = _path(options)
    clock = SystemClock()
    job = resume_job(path, clock) if path.exists() and not options.new else begin_job(path, clock)
    ears = (options.mic, options.ear_model, options.keep_sound)
    wishes = Wishes(not options.no_mic, not options.no_voice, *ears, tablet)
    plain = options.plain or not can_draw()
    if plain and not options.plain:
        _say("no terminal to draw on: going on in plain lines, as with --plain")
    _say(f"job in {path}")
    screen = _PlainScreen() if plain else _DrawnScreen(settings, options.settings)
    work = Work(job, clock, settings, wishes, screen.tell)
    try:
        screen.show(work)
    finally:
        work.end()
        if not work.sitting.finished:
            _say(f"the job is kept; resume it with: pullcall --job {quote(str(work.log.path))}")
    if work.sitting.finished:
        print(review(work.log.path).text)
    return Exit.DONE


def tablet_wishes(options: argparse.Namespace, kept: TabletWishes) -> TabletWishes:
    """The settings' wishes, where the command line says nothing else. Raises Refusal (USAGE)."""
    port = kept.port if options.tablet is None else options.tablet
    if options.tablet is not None and port not in PORTS:
        raise Refusal(Exit.USAGE, f"--tablet {port}: must be a port from {PORTS[0]} to {PORTS[-1]}, such as 8765")
    if options.open_to is not None and not is_address(options.open_to):
        raise Refusal(Exit.USAGE, f"--open-to {options.open_to}: must be an address in figures, such as 192.168.1.20")
    if not port and (options.open_to or options.tablet_may_tap):
        raise Refusal(Exit.USAGE, "--open-to and --tablet-may-tap are about the page for browsers: add --tablet")
    return TabletWishes(port, options.open_to or kept.address, options.tablet_may_tap or kept.may_tap)


def _path(options: argparse.Namespace) -> Path:
    if options.job_file is not None:
        return named(options.job_file)
    here = Path.cwd()
    if options.new:
        return Path(new_path(here).name)
    return Path(which_job(here, _ask if sys.stdin.isatty() else None).name)


def _ask(question: str) -> str:
    print(question, end="", file=sys.stderr, flush=True)
    return sys.stdin.readline()


def can_draw() -> bool:
    """Is there a terminal for the drawn screen?"""
    # The terminal library draws on stderr, so that stdout stays free for data.
    streams = (sys.stdin, sys.stdout, sys.stderr)
    return all(each.isatty() for each in streams) and os.environ.get("TERM", "") not in ("", "dumb")


class _DrawnScreen:
    """The screen of the terminal; news from before it stands wait for it."""

    def __init__(self, settings: Settings, file: Path | None) -> None:
        self._settings, self._file = settings, file
        self._early: list[News] = []
        self._app: PullcallApp | None = None

    def tell(self, news: News) -> None:
        """News from any thread."""
        if self._app is None:
            self._early.append(news)
        else:
            self._app.tell(news)

    def show(self, work: Work) -> None:
        """Until it is left."""
        from assistant.screen.app import PullcallApp

        def begin() -> None:
            self._app = app
            for news in self._early:
                app.tell(news)
            work.start()

        wanted = self._settings
        app = PullcallApp(
            work.sitting,
            theme=wanted.theme,
            pedal=wanted.pedal,
            learnt=self._learnt,
            begin=begin,
            talk=work.talk,
            learn_talk=not wanted.manners.always_open,
        )
        app.run()

    def _learnt(self, keys: tuple[str, ...]) -> None:
        try:
            keep_pedal(self._file or settings_file(), keys)
        except Refusal as refusal:
            self.tell(Trouble(refusal.line))


class _PlainScreen:
    """Prints news as they come; reads lines and hands them in."""

    def __init__(self) -> None:
        self._panel: Panel | None = None
        self._stands = False
        """The last line was not taken: the same panel is answered again."""
        self._fresh = threading.Condition()
        self._of_the_ears = OfTheEars()

    def tell(self, news: News) -> None:
        """News from any thread."""
        match news:
            case Panel():
                print("\n".join(lines_of(news)), flush=True)
                with self._fresh:
                    self._panel = news
                    self._fresh.notify_all()
            case Trouble(line, stands):
                _say(line)
                with self._fresh:
                    self._stands |= stands
                    self._fresh.notify_all()
            case Listening():
                if told := self._of_the_ears.line(news):
                    _say(told)
            case Sign():
                pass  # the panel follows at once

    def show(self, work: Work) -> None:
        """Lines until the job is closed or the input ends."""
        work.start()
        turn = -1
        while (panel := self._after(turn, work)) is not None and panel.ask:
            line = sys.stdin.readline()
            if not line:
                return
            if not line.strip():
                continue
            if line.strip().lower() == TALK:
                work.talk()
                continue
            panel = self._panel or panel  # something may have been heard meanwhile
            meant = answer(panel, line, work.sitting)
            if isinstance(meant, str):
                turn, self._stands = panel.turn, False
                work.sitting.tap(panel.turn, meant)
            else:
                print("\n".join(meant), flush=True)

    def _after(self, turn: int, work: Work) -> Panel | None:
        """The panel that follows the one answered, or this one where it stands; None where the sitting ended."""
        with self._fresh:
            while not (work.sitting.ended or self._stands) and (self._panel is None or self._panel.turn <= turn):
                self._fresh.wait(0.2)
            return self._panel


def _say(text: str) -> None:
    print(f"pullcall: {text}", file=sys.stderr, flush=True)
