"""A microphone whose child processes live as a script says."""

import sys
from pathlib import Path

from assistant.speech.microphone import BLOCK, Microphone

CHILD = """
import json, pathlib, sys, time
state = pathlib.Path({state!r})
life = state.read_text().split("|")
state.write_text("|".join(life[1:]))
now = life[0]
with open({asked!r}, "a") as asked:
    asked.write(sys.argv[1] + "\\n")
out = sys.stdout.buffer
if now.startswith("!"):
    out.write(json.dumps(dict(error=now[1:], known=["desk mic"])).encode() + b"\\n")
    sys.exit()
if now == "dumb":
    sys.exit()
out.write(b'{{"name": "usb mic"}}\\n')
for sign in now:
    if sign == "p":
        out.flush()
        time.sleep(0.7)
        continue
    out.write(b"\\1" if sign == "o" else b"\\0")
    out.write((b"\\0\\0" if sign == "z" else sign.encode() * 2) * {block})
out.flush()
if now.endswith("h"):
    time.sleep(30)
"""


class Bench:
    """A microphone whose successive children live as `lives` says.

    Each sign is a block, z = zeros; p = 0.7 s without one; final h = it hangs.
    """

    def __init__(self, folder: Path, *lives: str) -> None:
        state, asked = folder / "state", folder / "asked"
        state.write_text("|".join(lives))
        code = CHILD.format(state=str(state), asked=str(asked), block=BLOCK)
        self.asked, self.told = asked, list[tuple[str, str]]()
        self.command = (sys.executable, "-c", code)

    def open(self, device: str | None = "usb", *, awaited: bool = False) -> Microphone:
        return Microphone(device, lambda *told: self.told.append(told), self.command, awaited=awaited)

    def kinds(self) -> list[str]:
        return [what for what, _ in self.told]
