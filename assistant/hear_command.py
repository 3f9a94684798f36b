"""`pullcall hear`: what each recording means at an ask."""

import argparse
import json
import sys
import time
from pathlib import Path

from assistant.core.meaning import Meaning
from assistant.exits import Exit, Refusal, one_line
from assistant.ports import Heard
from assistant.speech.ears import VoskEars, hear_file
from assistant.speech.grammars import asks
from assistant.speech.second_ear import second_ear


def run(options: argparse.Namespace) -> Exit:
    """Print a line per file; a file that can't be read does not stop the others."""
    if options.ask not in asks():
        raise Refusal(Exit.USAGE, f"ask '{options.ask}': unknown; one of {', '.join(asks())}")
    ears = VoskEars(options.model, second=second_ear)
    return max((_hear(file, ears, options) for file in options.files), key=int)


def _hear(file: Path, ears: VoskEars, options: argparse.Namespace) -> Exit:
    begun = time.perf_counter()
    try:
        utterances = hear_file(file, ears, options.ask)
    except Refusal as refusal:
        print(f"pullcall: {refusal.line}", file=sys.stderr)
        return refusal.code
    took_s = round(time.perf_counter() - begun, 3)
    if not utterances:
        print(f"pullcall: {one_line(str(file))}: nobody speaks in it", file=sys.stderr)
    for heard in utterances:
        found = {"file": str(file), "ask": options.ask, **_facts(heard), "took_s": took_s}
        print(json.dumps(found) if options.json else _text(found), flush=True)
    return Exit.DONE if utterances and all(each.meaning for each in utterances) else Exit.FINDINGS


def _facts(heard: Heard) -> dict[str, object]:
    return {
        "text": heard.text,
        "meaning": None if heard.meaning is None else _meaning(heard.meaning),
        "score": round(heard.score, 3),
        "start_s": round(heard.start_s, 2),
        "end_s": round(heard.end_s, 2),
    }


def _meaning(meaning: Meaning) -> dict[str, object]:
    said = [f"{each.value} {each.unit}" for each in meaning.quantities]
    pairs = {"act": meaning.act, "quantities": said, "word": meaning.word, "digits": meaning.digits}
    return {name: value for name, value in {**pairs, "manner": meaning.manner}.items() if value}


def _text(found: dict[str, object]) -> str:
    meaning = found["meaning"]
    if isinstance(meaning, dict):
        told = " ".join(" ".join(each) if isinstance(each, list) else str(each) for each in meaning.values())
    else:
        told = "not understood" if found["text"] else "only noise"
    return f"{one_line(str(found['file']))}: '{found['text']}' = {told} (score {found['score']}, {found['took_s']} s)"
