"""docs/sentences.md: every sentence that is said or shown. Rewrite it with `python -m assistant.sentence_page FILE`."""

import sys
from pathlib import Path

from assistant.wording import cues, messages

_HEAD = """# What it says

Every sentence of `assistant/messages/en.toml`, where it is edited; `{{name}}` is a figure, said in words and shown as
on the tape. This page is written by `python -m assistant.sentence_page docs/sentences.md`. {count} sentences, at most
twelve words and two figures each where they are said. The tone before a sentence stands where it is not that of an
answer taken.
"""
_PARTS = {False: "To the installer", True: "To the helper, in a second voice"}


def page() -> str:
    """The page as Markdown."""
    parts = (f"\n## {title}\n\n| said | shown, where it differs | tone |\n|---|---|---|\n{_rows(helper)}"
             for helper, title in _PARTS.items())  # fmt: skip
    return _HEAD.format(count=len(messages())) + "".join(parts)


def _rows(helper: bool) -> str:
    return "".join(_row(key, say, show) for key, (say, show, called) in messages().items() if called == helper)


def _row(key: str, say: str, show: str) -> str:
    cue = cues().get(key)
    cells = (say or "(only shown)", "" if show == say else show, cue.name.lower() if cue else "")
    return f"| {' | '.join(each.replace('|', '/') for each in cells)} |\n"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page(), encoding="utf-8")
