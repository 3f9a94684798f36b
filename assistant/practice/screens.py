"""A picture of every ask, as the screen shows it at 80 columns and 24 rows; needs Chromium.

python -m assistant.practice.screens docs/screens
"""

import asyncio
import re
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from assistant.practice.pictures import photograph
from assistant.practice.rehearsal import Rehearsal, Shot, shots
from assistant.practice.tablet_pictures import pictures
from assistant.screen.app import PullcallApp
from assistant.screen.news import Listening

_FONTS = re.compile(r"@font-face \{.*?\}", re.DOTALL)


async def shoot(shot: Shot, picture: Path) -> None:
    """Write the PNG of one shot."""
    app = PullcallApp(Rehearsal(), theme=shot.theme)
    app.title = f"pullcall: {shot.name}"
    async with app.run_test(size=shot.size) as pilot:
        app.tell(Listening(0.12, deaf=False))
        app.tell(shot.panel)
        await pilot.pause()
        await pilot.press(*shot.press)
        await pilot.pause()
        drawing = app.export_screenshot()
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder, "screen.svg")
        page.write_text(_own_font(drawing), encoding="utf-8")
        box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', drawing)
        assert box is not None, "the screenshot says how large it is"
        photograph(page, picture, round(float(box[1])), round(float(box[2])))


def _own_font(drawing: str) -> str:
    """With a font of this machine instead of one from the network, its blocks as high as a row."""
    plain = _FONTS.sub("", drawing).replace("Fira Code, monospace", "DejaVu Sans Mono, monospace")
    return plain.replace("font-size: 20px", "font-size: 21px")


async def _main(out: Path, names: Sequence[str]) -> None:
    out.mkdir(parents=True, exist_ok=True)
    for each in shots():
        if not names or each.name in names:
            await shoot(each, out / f"{each.name}.png")


if __name__ == "__main__":
    asyncio.run(_main(Path(sys.argv[1]), sys.argv[2:]))
    if not sys.argv[2:]:
        pictures(Path(sys.argv[1]))
