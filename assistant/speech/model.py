"""Vosk model folders: ours with one strict graph per ask, or any other with a run-time grammar."""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any, NoReturn, Protocol

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.shelf import model_folder
from assistant.speech.grammars import grammar, listened_under, vocabulary
from assistant.speech.model_files import check_foreign, has_run_time_grammar
from assistant.speech.sampler import count, sample, sentences

_PHRASES = 1500
"""Sentences of a grammar that a foreign model is given."""
_SUMS = "SHA256SUMS"
_NEEDED = ("am/final.mdl", "conf/model.conf", "conf/mfcc.conf", "graph/HCLr.fst", "graph/words.txt")
UNKNOWN = "[unk]"
"""The word that stands for speech outside the grammar."""
_FETCHERS = {"requests": "get", "tqdm": "tqdm", "urllib.request": "urlretrieve"}
"""What vosk imports to fetch models from a network, and what of it by name: 7 MB that nobody needs here."""
_LOG_LEVEL = -2
"""From -2 down not even warnings are printed."""
_TRIAL = """
import sys, vosk
vosk.SetLogLevel(-2)
model = vosk.Model(sys.argv[1])
trial = vosk.KaldiRecognizer(model, 16000, *sys.argv[2:])
trial.AcceptWaveform(bytes(16000))
trial.FinalResult()
"""
_TRIAL_S = 120
"""The largest models need half a minute."""


class SpeechModel(Protocol):
    """A loaded model."""

    name: str
    """For the log: what heard this job."""

    def recogniser(self, ask: str) -> Any:
        """A fresh vosk.KaldiRecognizer under the grammar of `ask`."""


def open_model(folder: Path | None = None) -> SpeechModel:
    """The model in `folder`, or the one that ships.

    Raises Refusal (BAD_MODEL) for a missing, incomplete, changed or foreign folder, or one that lacks words.
    """
    chosen = folder or model_folder()
    if not chosen.is_dir():
        _refuse(chosen, "no such folder; name a Vosk model folder")
    if (chosen / _SUMS).is_file() or (chosen / "graph" / "asks").is_dir():
        return OwnModel(chosen)
    return ForeignModel(chosen)


def _refuse(folder: Path, why: str) -> NoReturn:
    raise Refusal(Exit.BAD_MODEL, f"model {folder}: {why}") from None


def _vosk() -> Any:
    """Vosk; of what it would fetch models with it is given empty modules."""
    missing = () if "vosk" in sys.modules else _FETCHERS.keys() - sys.modules.keys()
    fetchers = {each: ModuleType(each) for each in missing}
    for each, module in fetchers.items():
        setattr(module, _FETCHERS[each], None)
    sys.modules |= fetchers
    try:
        import vosk  # loads a large library: only where something is to be heard
    finally:
        for each in fetchers:
            del sys.modules[each]
    vosk.SetLogLevel(_LOG_LEVEL)
    return vosk


def _load(folder: Path, shown: Path) -> Any:
    try:
        return _vosk().Model(str(folder))
    except Exception:  # vosk raises nothing more precise, and says nothing more
        _refuse(shown, "vosk cannot load it; a file in it is damaged, fetch it again")


class OwnModel:
    """Acoustic model and lexicon graph shared, one strict grammar graph per ask."""

    def __init__(self, folder: Path) -> None:
        """Check every file against SHA256SUMS. Raises Refusal (BAD_MODEL)."""
        self._folder = folder
        self.name = f"{folder.resolve().name} {_checked(folder)[:16]}"
        self._ask, self._model = "", None

    def recogniser(self, ask: str) -> Any:
        """A recogniser that accepts the grammar's sentences, '[unk]' for other speech, '' for noise.

        The model of one ask stays loaded, 46 MB. Another takes 0.1 to 0.25 s; the sound waits.
        """
        if ask != self._ask:
            self._ask, self._model = "", None  # before another is loaded: the most that is held counts
            self._ask, self._model = ask, self._load(ask)
        found = _vosk().KaldiRecognizer(self._model, RATE)
        found.SetWords(True)
        return found

    def _load(self, ask: str) -> Any:
        # Vosk wants one folder with one grammar graph in it; it reads all of it and needs it no longer.
        try:
            with tempfile.TemporaryDirectory(prefix="pullcall-", ignore_cleanup_errors=True) as scratch:
                self._lay_out(ask, Path(scratch))
                return _load(Path(scratch), self._folder)
        except OSError as error:
            where = tempfile.gettempdir() if error.filename is None else error.filename
            raise Refusal(
                Exit.NOT_WRITABLE, f"{where}: cannot be written ({error.strerror}); free it or set TMPDIR"
            ) from None

    def _lay_out(self, ask: str, place: Path) -> None:
        for part in ("am", "conf", "graph/phones"):
            (place / part).mkdir(parents=True)
            for file in (self._folder / part).iterdir():
                _link(file, place / part / file.name)
        for file in (self._folder / "graph").iterdir():
            if file.is_file():
                _link(file, place / "graph" / file.name)
        _link(self._folder / "graph" / "asks" / f"{ask}.fst", place / "graph" / "Gr.fst")


def _link(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except OSError:  # another disk, or one without links
        shutil.copyfile(source, target)


def _checked(folder: Path) -> str:
    """The checksum of the checksums. Raises Refusal (BAD_MODEL) naming the first wrong file."""
    listed = _sums(folder)
    for name, wanted in listed.items():
        try:
            with (folder / name).open("rb") as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            _refuse(folder, f"{name} is missing or cannot be read; install pullcall again")
        if found != wanted:
            _refuse(folder, f"{name} has a wrong checksum; install pullcall again")
    missing = [name for name in _NEEDED if name not in listed]
    if missing:
        _refuse(folder, f"{_SUMS} does not list {', '.join(missing)}; run assistant.train.graph on it")
    silent = [ask for ask in listened_under() if f"graph/asks/{ask}.fst" not in listed]
    if silent:
        _refuse(folder, f"no graph for {', '.join(silent)}; run assistant.train.graph on it")
    return hashlib.sha256("".join(sorted(listed.values())).encode()).hexdigest()


def _sums(folder: Path) -> dict[str, str]:
    """File name -> checksum."""
    try:
        lines = (folder / _SUMS).read_text(encoding="utf-8").splitlines()
        return {name: wanted for wanted, name in (line.split(maxsplit=1) for line in lines)}
    except OSError:
        _refuse(folder, f"{_SUMS} is missing or cannot be read; install pullcall again")
    except ValueError:
        _refuse(folder, f"{_SUMS} is damaged: each line is 'checksum name'; install pullcall again")


class ForeignModel:
    """Any Vosk model. Its run-time grammar does not forbid other word orders; ours does, afterwards."""

    def __init__(self, folder: Path) -> None:
        """Load it. Raises Refusal (BAD_MODEL) for half a model and for missing words, by name."""
        check_foreign(folder)
        self._run_time_grammar = has_run_time_grammar(folder)
        _try_out(folder, ['["yes"]'] if self._run_time_grammar else [])
        self.name = folder.resolve().name
        self._model = _load(folder, folder)
        missing = missing_words(self._knows)
        if missing:
            _refuse(folder, f"its vocabulary lacks {', '.join(missing)}; use a model that knows these words")

    def _knows(self, word: str) -> bool:
        return int(self._model.vosk_model_find_word(word)) >= 0

    def recogniser(self, ask: str) -> Any:
        """A recogniser for the ask's phrases; for all the model knows where it takes no grammar at run time."""
        vosk = _vosk()
        if self._run_time_grammar:
            unknown = [UNKNOWN] if self._knows(UNKNOWN) else []
            found = vosk.KaldiRecognizer(self._model, RATE, json.dumps([*_phrases(ask), *unknown]))
        else:
            found = vosk.KaldiRecognizer(self._model, RATE)
        found.SetWords(True)
        return found


def _try_out(folder: Path, grammars: list[str]) -> None:
    """Load the model in a process of its own first: vosk crashes on some damaged files. Raises Refusal (BAD_MODEL)."""
    try:
        command = [sys.executable, "-c", _TRIAL, str(folder), *grammars]
        done = subprocess.run(command, capture_output=True, stdin=subprocess.DEVNULL, timeout=_TRIAL_S)
    except subprocess.TimeoutExpired:
        _refuse(folder, f"vosk has not loaded it after {_TRIAL_S} s; name a smaller one")
    # Where it does not crash on a damaged graph, it prints an error whatever the log level, and goes on without it.
    if done.returncode or b"ERROR" in done.stderr:
        _refuse(folder, "vosk cannot load it; a file in it is damaged, fetch it again")


def missing_words(knows: Callable[[str], bool]) -> list[str]:
    """The words of our grammars that a model does not know, sorted."""
    return sorted(word for word in vocabulary() if not knows(word))


def _phrases(ask: str) -> list[str]:
    """Sentences of the grammar, and each word by itself so that none is missed by chance."""
    source = grammar(ask)
    if count(source) <= _PHRASES:
        return sorted(set(sentences(source)))
    dice = Random(ask)
    return sorted({sample(source, dice) for _ in range(_PHRASES)} | source.vocabulary)
