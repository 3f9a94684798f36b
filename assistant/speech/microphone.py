"""A microphone that may be missing or unplugged: its stream lives in a child process, started anew until it is found.

A fresh process has a fresh list of devices, so the microphone is found by its name, whatever its number is then.
"""

import json
import queue
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate, chain, repeat
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from assistant.exits import Exit, Refusal

BLOCK = 512
"""Samples a block: 32 ms."""
CHILD = (sys.executable, "-P", str(Path(__file__).with_name("microphone_child.py")))
"""By path and with -P, as the voice's worker."""
WATCH_S = 0.5
"""So long without a further block, or with nothing but zeros, and it is told."""
ZERO_BLOCKS = round(WATCH_S * 16_000 / BLOCK)
LOOKS_S = (5.0, 10.0, 20.0, 40.0, 60.0)
"""So long nothing but zeros, and a fresh child looks whether it is still there; the last wait again and again.

Nothing is heard during a look. An unplugged microphone is found lost at the first; one that is found is muted, and the
longer it is, the rarer it is looked for: of what is said when it is unmuted little falls into a look.
"""
START_S = 5.0
"""A child may take so long to open its device, and as long again to its first block."""
RETRY_S = (0.0, 0.5, 1.0, 2.0, 3.0)
"""Before each look for a microphone that is not there; the last one again and again."""
STEADY_BLOCKS = round(3.0 * 16_000 / BLOCK)
"""After so many on end the next loss is looked into at once; a loose plug is looked for ever more rarely."""
_FRAME = 1 + 2 * BLOCK

Told = Callable[[str, str], object]
"""What happened ('missing', 'lost', 'back', 'silent', 'busy') and a line about it."""


class _Child:
    """One child and its frames; None among them is the end."""

    def __init__(self, command: Sequence[str], device: str) -> None:
        """Raises Refusal (BAD_AUDIO) where it cannot be started."""
        self.frames: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self.blocks, self._waited_s = 0, 0.0
        try:
            self._process = subprocess.Popen(
                [*command, device], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
            )
        except OSError as error:
            why = f"microphone: its process cannot be started ({error.strerror}); close other programs"
            raise Refusal(Exit.BAD_AUDIO, why) from None
        assert self._process.stdout is not None
        threading.Thread(target=self._read, args=(self._process.stdout,), daemon=True).start()

    def _read(self, pipe: IO[bytes]) -> None:
        with pipe:
            self.frames.put(pipe.readline())
            while len(frame := pipe.read(_FRAME)) == _FRAME:
                self.frames.put(frame)
        self.frames.put(None)

    def name(self) -> str:
        """The device's whole name. Raises Refusal (BAD_AUDIO) where it cannot be opened."""
        try:
            told = json.loads(self.frames.get(timeout=START_S) or b"")
            found = told.get("name")
        except (queue.Empty, ValueError, AttributeError):
            raise Refusal(Exit.BAD_AUDIO, "microphone: its process does not answer; plug it in again") from None
        if not isinstance(found, str):
            known = ", ".join(told.get("known", ()))
            cure = f"plug one in, or name one with --device; known: {known}" if known else "plug one in"
            raise Refusal(Exit.BAD_AUDIO, f"microphone: {told.get('error')}; {cure}")
        return found

    def next(self) -> bytes | None:
        """The next frame; b"" = the first has not come yet, None = none comes any more."""
        try:
            frame = self.frames.get(timeout=WATCH_S)
        except queue.Empty:
            self._waited_s += WATCH_S
            return None if self.blocks or self._waited_s >= START_S else b""
        self.blocks += frame is not None
        return frame

    def close(self) -> None:
        """End it whatever it does."""
        self._process.kill()
        self._process.wait()
        if self._process.stdin is not None:
            self._process.stdin.close()


class _Silence:
    """Nothing but zeros, from one sound to the next."""

    def __init__(self) -> None:
        self.blocks = 0
        self._looks = accumulate(round(wait_s * 16_000 / BLOCK) for wait_s in chain(LOOKS_S, repeat(LOOKS_S[-1])))
        self._look_at = next(self._looks)

    def is_to_be_looked_into(self) -> bool:
        """Is it time for the next look? Told once for each."""
        due = self.blocks == self._look_at
        if due:
            self._look_at = next(self._looks)
        return due


class Microphone:
    """One microphone, unplugged and plugged in again as it may be. Implements ports.Blocks."""

    def __init__(
        self, device: str | None, told: Told, command: Sequence[str] = CHILD, *, awaited: bool = False
    ) -> None:
        """`device` is part of a name; None = the system's own choice.

        Where none can be opened now: raises Refusal (BAD_AUDIO), or, `awaited`, tells it and takes it once it is there.
        """
        self._told, self._command = told, tuple(command)
        self._closed = threading.Event()
        self._busy = self._gone = False
        self._pauses = chain(RETRY_S, repeat(RETRY_S[-1]))
        self.name = device or ""
        """The device's whole name, once it was found."""
        self._child: _Child | None = None
        try:
            self._child, self.name = self._open(self.name)
        except Refusal as refusal:
            if not awaited:
                raise
            self._gone = True
            told("missing", f"{refusal.line}; it is heard as soon as it is there, tap or type meanwhile")

    def _open(self, device: str) -> tuple[_Child, str]:
        child = _Child(self._command, device)
        try:
            return child, child.name()
        except Refusal:
            child.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._closed.set()
        self._drop()

    def __iter__(self) -> Iterator[bytes]:
        """Blocks as they come, until it is closed."""
        while not self._closed.is_set():
            if self._child is None:
                yield from self._until_found()
            yield from self._while_it_lasts()
            if self._closed.is_set():
                return
            if not self._gone:
                self._gone = True
                self._told(
                    "lost", f"microphone '{self.name}': no sound comes any more; tap meanwhile, and plug it in again"
                )
            self._drop()

    def _while_it_lasts(self) -> Iterator[bytes]:
        silence = _Silence()
        while (frame := self._next()) is not None:
            if not frame:
                yield b""
                continue
            self._sounds()
            block = frame[1:]
            if any(block):
                silence = _Silence()
            else:
                silence.blocks += 1
            if silence.blocks == ZERO_BLOCKS:
                self._told(
                    "silent",
                    f"microphone '{self.name}': nothing but digital silence; muted or unplugged? Tap meanwhile",
                )
            if frame[0] and not self._busy:
                self._busy = True
                self._told("busy", f"microphone '{self.name}': some sound was lost; this machine is too busy")
            yield block
            if silence.is_to_be_looked_into() and not self._still_there():
                return

    def _next(self) -> bytes | None:
        child = self._child  # once: it is dropped by the thread that closes
        return None if child is None else child.next()

    def _sounds(self) -> None:
        child = self._child
        if child is not None and child.blocks == STEADY_BLOCKS:
            self._pauses = chain(RETRY_S, repeat(RETRY_S[-1]))
        if self._gone:
            self._gone = False
            self._told("back", f"microphone '{self.name}': is heard")

    def _still_there(self) -> bool:
        """Some devices go on as silence once they are unplugged: a fresh process sees whether they are there."""
        self._drop()  # first: some devices can be opened only once
        return self._found()

    def _until_found(self) -> Iterator[bytes]:
        for pause_s in self._pauses:
            yield b""
            if self._closed.wait(pause_s) or self._found():
                return

    def _found(self) -> bool:
        try:
            self._child, self.name = self._open(self.name)
        except Refusal:
            return False
        if self._closed.is_set():  # meanwhile: nobody would close this child
            self._drop()
        return True

    def _drop(self) -> None:
        child, self._child = self._child, None
        if child is not None:
            child.close()
