"""What is spoken for an evaluation: sentences drawn by the grammars' own sampler, and speech that is none of them.

Nothing is picked by how well it is heard: the same seed gives the same script.
"""

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

from assistant.exits import Exit, Refusal
from assistant.hearing.manifest import NONE, Item, meaning_of
from assistant.speech.grammars import grammar
from assistant.speech.sampler import sample

TALK = Path(__file__).with_name("other_talk.txt")
ESPEAK = ("espeak:en-us+m3", "espeak:en-gb+f2", "espeak:en-us+f4", "espeak:en-gb+m7")
"""Formant voices, for a small part of the exam and nothing else: a poor stand-in for people, but unlike the others."""
_TRIES = 60
"""Draws for a sentence not drawn before; small grammars repeat themselves."""


@dataclass(frozen=True)
class _Line:
    kind: str
    ask: str
    text: str


def script(
    folder: Path, voices: Sequence[str], seed: int, talk: Path = TALK, formant: Sequence[str] = ESPEAK
) -> list[Item]:
    """The items of a set to be spoken into `folder`, shuffled, voices in turn; some by a `formant` voice instead.

    Raises Refusal (USAGE) for a line of `talk` that is a sentence of its ask, or is not 'kind, ask, words'.
    """
    plan = tomllib.loads(Path(__file__).with_name("script.toml").read_text(encoding="utf-8"))
    dice = Random(seed)
    others = [*_others(talk, plan["listening"])]
    lines = [*_tasks(plan["draw"], dice), *others, *_cut(plan["cut"], dice)]
    dice.shuffle(lines)
    lines += _tasks(plan["later"], dice)
    items = []
    for number, line in enumerate(lines):
        often, turn = divmod(number, plan["espeak_each"])
        voice = voices[number % len(voices)] if turn or not formant else formant[often % len(formant)]
        means = meaning_of(line.text, line.ask)
        name = f"{line.kind}_{number:04d}.ogg"
        items.append(Item(folder / name, line.ask, line.text, means, voice, seed * 10_000 + number, line.kind))
    return items


def _tasks(draw: Sequence[tuple[str, str, int]], dice: Random) -> Iterator[_Line]:
    drawn = set[tuple[str, str]]()
    for ask, act, count in draw:
        for _ in range(count):
            text = _draw(ask, act, drawn, dice)
            drawn.add((ask, text))
            yield _Line("task", ask, text)


def _draw(ask: str, act: str, drawn: set[tuple[str, str]], dice: Random) -> str:
    text, left = "", _TRIES
    while left:
        text = sample(grammar(ask), dice)
        if act and meaning_of(text, ask).split()[0] != act:
            continue
        if (ask, text) not in drawn:
            break
        left -= 1
    return text


def _others(file: Path, listening: Sequence[str]) -> Iterator[_Line]:
    turn = 0
    for number, row in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
        if row.startswith("#") or not row.strip():
            continue
        cells = row.split("\t")
        if len(cells) != 3:
            raise Refusal(Exit.USAGE, f"{file} line {number}: {len(cells)} cells; write kind, ask or -, words")
        kind, ask, text = cells
        if ask == "-":
            ask, turn = listening[turn % len(listening)], turn + 1
        if meaning_of(text, ask) != NONE:
            raise Refusal(Exit.USAGE, f"{file} line {number}: '{text}' is a sentence of ask {ask}; word it otherwise")
        yield _Line(kind, ask, text)


def _cut(plan: Sequence[tuple[str, int]], dice: Random) -> Iterator[_Line]:
    for ask, count in plan:
        found = dict[str, None]()
        while len(found) < count:
            words = sample(grammar(ask), dice).split()
            text = " ".join(words[: dice.randrange(1, len(words))]) if len(words) > 1 else ""
            if text and meaning_of(text, ask) == NONE:
                found[text] = None
        yield from (_Line("cut", ask, text) for text in found)
