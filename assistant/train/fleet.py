"""The whole road at once, on a machine with many cores and GPUs: each command of this package in many processes.

A plan (TOML) says how long and what; every process writes a log beside what it makes. One that ends badly ends the
fleet, and its log is named; a voice that had spoken before is only told of.
"""

import os
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.train.corpus import join

FORMANT, PEOPLE = "formant", "people"
"""Folders of the two that need no GPU."""
GLANCE_S = 0.5


@dataclass(frozen=True)
class Training:
    """One network to train on."""

    name: str
    start: str = ""
    """A checkpoint or a packed final.mdl; none = from nothing."""
    number: int = 0
    phones: str = "assistant/speech/model/graph/phones.txt"
    whispered: float = 0.2
    more: Sequence[str] = ()
    """Further words of the command `train`."""


@dataclass(frozen=True)
class Plan:
    """What the fleet does."""

    speech_s: float
    train_s: float
    voices: int
    """Processes that speak."""
    gpus: int
    """At least 1; on a machine without any, the processes find none and work on processors."""
    model: str
    """Folder of the model that aligns."""
    speech_data: str
    formant: int = 0
    """Clips by formant voices."""
    joined: int = 0
    """Clips of two to four single words of people in a row."""
    seed: int = 1
    synthesiser: Sequence[str] = ()
    """Options of `synthesise`: where the synthesiser is."""
    networks: Sequence[Training] = field(default_factory=list)
    """Where they are more than the GPUs, some share one."""


def read_plan(file: Path) -> Plan:
    """Raises Refusal (USAGE) naming the file: no TOML, an unknown or missing entry."""
    try:
        told = tomllib.loads(file.read_text(encoding="utf-8"))
        return Plan(**{**told, "networks": [Training(**each) for each in told.get("networks", [])]})
    except (tomllib.TOMLDecodeError, TypeError) as error:
        raise Refusal(Exit.USAGE, f"{file}: {error}; see assistant/train/fleet.py, class Plan") from None


def sail(plan: Plan, out: Path) -> None:
    """Speak, align, train; checkpoints are out/NAME.npz.

    Raises Refusal (FINDINGS) naming the log of a process that ended badly.
    """
    out.mkdir(parents=True, exist_ok=True)
    clock = time.monotonic()

    def told(what: str) -> None:
        print(f"{time.monotonic() - clock:.0f} s: {what}", file=sys.stderr, flush=True)

    _wait(list(_speaking(plan, out)), forgive=True)
    told("spoken")
    groups = [out / f"group{gpu}" for gpu in range(plan.gpus)]
    parts = sorted(each.parent for each in out.glob("*/clips.jsonl"))
    for gpu, group in enumerate(groups):
        join(group, parts[gpu :: len(groups)])
    _wait([_start(group, gpu, ["realign", "--corpus", str(group), "--model", plan.model])
           for gpu, group in enumerate(groups)])  # fmt: skip
    told("aligned")
    join(out / "all", groups)
    _wait([_start(out / each.name, number % plan.gpus, _training(plan, each, out))
           for number, each in enumerate(plan.networks)])  # fmt: skip
    told("trained")


Process = tuple[subprocess.Popen[bytes], Path]
"""And its log."""


def _speaking(plan: Plan, out: Path) -> Iterator[Process]:
    for number in range(plan.voices):
        part = out / f"voice{number:02d}"
        seconds = ["--clips", "1000000", "--seconds", str(plan.speech_s), "--seed", str(plan.seed + number)]
        yield _start(part, number % plan.gpus, ["synthesise", "--corpus", str(part), *plan.synthesiser, *seconds])
    if plan.formant:
        part, seed = out / FORMANT, str(plan.seed + plan.voices)
        few = ["--clips", "0", "--formant", str(plan.formant), "--seed", seed]
        yield _start(part, 0, ["synthesise", "--corpus", str(part), *plan.synthesiser, *few])
    recorded = ["--folder", plan.speech_data, "--joined", str(plan.joined), "--seed", str(plan.seed)]
    yield _start(out / PEOPLE, 0, ["people", "--corpus", str(out / PEOPLE), *recorded])


def _training(plan: Plan, network: Training, out: Path) -> list[str]:
    first = ["--start", network.start, "--number", str(network.number), "--cross-entropy-s", "0"]
    return [
        "train", "--corpus", str(out / "all"), "--phones", network.phones, "--speech-data", plan.speech_data,
        "--checkpoint", str(out / f"{network.name}.npz"), "--mmi-s", str(plan.train_s),
        *(first if network.start else []), "--whispered", str(network.whispered), *network.more,
    ]  # fmt: skip


def _start(place: Path, gpu: int, command: Sequence[str]) -> Process:
    log = place.with_name(f"{place.name}.log")
    around = {**os.environ, "CUDA_VISIBLE_DEVICES": str(gpu), "OMP_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1"}
    with log.open("wb") as output:
        words = [sys.executable, "-m", "assistant.train", *command]
        return subprocess.Popen(words, stdout=output, stderr=subprocess.STDOUT, env=around), log


def _wait(processes: Sequence[Process], *, forgive: bool = False) -> None:
    """Until all have ended; the first that ends badly ends the others. `forgive`: not if it left clips."""
    running = list(processes)
    while running:
        time.sleep(GLANCE_S)
        for each in [each for each in running if each[0].poll() is not None]:
            running.remove(each)
            if each[0].returncode:
                why = _last_line(each[1])
                if not (forgive and _has_clips(each[1].with_suffix(""))):
                    _end(running)
                    raise Refusal(Exit.FINDINGS, f"{each[1]}: {why}")
                print(f"{each[1]}: {why}; its clips are kept", file=sys.stderr)


def _end(running: Sequence[Process]) -> None:
    for process, _ in running:
        process.kill()
        process.wait()


def _last_line(log: Path) -> str:
    return (log.read_text(encoding="utf-8", errors="replace").splitlines() or ["it said nothing"])[-1]


def _has_clips(folder: Path) -> bool:
    file = folder / "clips.jsonl"
    return file.exists() and file.stat().st_size > 0
