"""Whether an answer is heard now, as the page shows it: words and a shape, and no meaning by colour."""

from dataclasses import dataclass

from assistant.core.length import System
from assistant.core.line import line
from assistant.screen.news import Listening
from assistant.wording import word


@dataclass(frozen=True)
class Hearing:
    """The state of the ears."""

    shape: str
    """'open', 'closed', 'speaking' or 'gone'."""
    words: str


def hearing(news: Listening) -> Hearing:
    """The level is left out: it is for whoever speaks."""
    if news.gone:
        return GONE
    if news.deaf:
        return Hearing("speaking", _shown("ears_speaking"))
    return Hearing("closed", news.waits) if news.waits else Hearing("open", _shown("ears_open"))


def _shown(key: str) -> str:
    return word(line(key), System.IMPERIAL).show


GONE = Hearing("gone", _shown("ears_gone"))
"""Until somebody listens, too."""
