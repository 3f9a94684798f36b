"""docs/trade.md: every constant of the trade with its source. Rewrite it with `python -m assistant.trade_page FILE`."""

import sys
from pathlib import Path

from assistant.core import trade
from assistant.core.trade import Constant

_HEAD = """# Figures of the trade

Every constant the program uses, from `assistant/core/trade.py`. This page is written by
`python -m assistant.trade_page docs/trade.md`. The carpet maker's instructions and local codes go before all of them.
Where a span is beyond the reach of the kit and worked in equal parts between deadmen, per cent are of one part.

A pull that was not measured after hooking holds its last reading less what hooking is expected to lose there. Voice,
screens, report and ledger take that from one place (`advice.Losses`): the hold readings of its direction nearest to the
pull, as shares of the span, carried along a drift; those of the other direction where its own has none. All that is
known counts: at the pull what was measured before it, in the report of a job what was measured later too. Where that
gives another verdict than was shown when the pull was hooked, the report says so (*other verdict*).

| figure | value | unit | source | vouched for as |
|---|---|---|---|---|
"""


def page() -> str:
    """The page as Markdown."""
    rows = (_row(name, each) for name, each in vars(trade).items() if isinstance(each, Constant))
    return _HEAD + "\n".join(rows) + "\n"


def _row(name: str, constant: Constant) -> str:
    words = name.replace("_", " ").lower()
    return f"| {words} | {constant.value} | {constant.unit} | {constant.source} | {constant.vouch.value} |"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page(), encoding="utf-8")
