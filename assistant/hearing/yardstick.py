"""PocketSphinx behind the Ears port: the yardstick. Same grammars (as JSGF), same lexicon, same end-pointing.

It knows no speech outside the grammar: whatever fits a sentence is one. Extra `yardstick`; never used by the program.
"""

import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any

from assistant.core.meaning import Meaning
from assistant.exits import Exit, Refusal
from assistant.speech.endpoint import Endpointer, EndRule
from assistant.speech.grammars import grammar, lexicon
from assistant.speech.jsgf import Alternatives, Expansion, Grammar, Optional, RuleRef, Sequence, Tag, Word
from assistant.speech.utterance import UtteranceListener


def plain_jsgf(source: Grammar) -> str:
    """`source` with all it imports as one JSGF text without tags: a rule 'grammar.rule' becomes grammar_rule."""
    lines = ["#JSGF V1.0;", f"grammar {source.name};"]
    for name, rule in source.rules.items():
        public = "public " if name == f"{source.name}.ask" else ""
        lines.append(f"{public}<{_flat(name)}> = {_text(rule)};")
    return "\n".join(lines) + "\n"


def _flat(rule: str) -> str:
    return rule.replace(".", "_")


def _text(part: Expansion) -> str:
    match part:
        case Word(text):
            return text
        case Tag():
            return ""
        case RuleRef(name):
            return f"<{_flat(name)}>"
        case Optional(inner):
            return f"[{_text(inner)}]"
        case Alternatives(choices):
            return "(" + " | ".join(_text(each) for each in choices) + ")"
        case Sequence(parts):
            return " ".join(text for text in map(_text, parts) if text)


class PocketSphinxEars:
    """Implements ports.Ears."""

    name = "PocketSphinx, its own English model, our grammars and lexicon"

    def __init__(self, rule: EndRule | None = None) -> None:
        """Raises Refusal (BAD_MODEL) where the extra is not installed."""
        try:
            import pocketsphinx
        except ImportError:
            raise Refusal(
                Exit.BAD_MODEL,
                "engine pocketsphinx: not installed; add the extra, as in pip install 'pullcall[yardstick]'",
            ) from None
        self._rule = rule
        self._module: Any = pocketsphinx
        self._decoders: dict[str, Any] = {}

    def listen(self, ask: str) -> "PocketSphinxListener":
        """As the port asks."""
        grammar(ask)
        return PocketSphinxListener(self._decoder(ask), ask, Endpointer(self._rule))

    def _decoder(self, ask: str) -> Any:
        if ask not in self._decoders:
            with tempfile.TemporaryDirectory() as folder:
                words, rules = Path(folder, "words.dict"), Path(folder, f"{ask}.gram")
                words.write_text(_dictionary(), encoding="utf-8")
                rules.write_text(plain_jsgf(grammar(ask)), encoding="utf-8")
                # Its best-path search after the first pass is many times slower and gave nothing.
                self._decoders[ask] = self._module.Decoder(
                    jsgf=str(rules), dict=str(words), bestpath=False, loglevel="FATAL"
                )
        return self._decoders[ask]


def _dictionary() -> str:
    lines = []
    for word, forms in lexicon().items():
        for number, phones in enumerate(forms, 1):
            lines.append(f"{word}{f'({number})' if number > 1 else ''} {' '.join(phones)}")
    return "\n".join(lines) + "\n"


class PocketSphinxListener(UtteranceListener):
    """One utterance: followed while it lasts, then recognised once more as a whole, which serves it better in noise."""

    def __init__(self, decoder: Any, ask: str, endpointer: Endpointer) -> None:
        super().__init__(ask, endpointer)
        self._decoder, self._sound = decoder, b""
        self._forget()  # an utterance may have been left unfinished before this one

    def _recognise(self, sound: bytes) -> None:
        if sound:
            if not self._sound:
                self._decoder.start_utt()
            self._sound += sound
            self._decoder.process_raw(sound)

    def _forget(self) -> None:
        with suppress(RuntimeError):  # nothing was taken
            self._decoder.end_utt()
        self._sound = b""

    def _so_far(self) -> str:
        found = self._decoder.hyp()
        return str(found.hypstr) if found else ""

    def _result(self) -> tuple[str, Meaning | None, float]:
        self._decoder.end_utt()
        self._decoder.start_utt()
        self._decoder.process_raw(self._sound, full_utt=True)
        self._decoder.end_utt()
        text = self._so_far()
        meaning = self._meaning(text)
        return text, meaning, 1.0 if meaning else 0.0  # it has no confidence worth the name
