"""What a crash may leave on a disk: a writer's own system calls, recorded once, and every state between them rebuilt.

Two disks are modelled. One loses nothing but what was not yet asked of it, so a crash leaves all writes so far and a
part of the last. The other keeps only what was synced: of the writes since then it may keep any, in any order, in part.
"""

import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

TREE = Path(__file__).parents[2]
SECTOR = 512
_CALL = re.compile(r"^\d+ +(\w+)\((.*)\) += (\d+)", re.ASCII)
_NAME = re.compile(r"^\d+<([^>]*)>")
_TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')


@dataclass(frozen=True)
class Call:
    """One thing asked of the disk."""

    kind: str
    """'create', 'write', 'cut', 'remove', 'sync', or 'said' = acknowledged to whoever listens."""
    name: str
    """File name; '' for the folder."""
    at: int = 0
    """Offset of a write, new length of a cut, number acknowledged."""
    data: bytes = b""


def traced(folder: Path) -> str:
    """Why no system call can be recorded here; '' where they can."""
    if shutil.which("strace") is None:
        return "strace is not installed"
    probe = subprocess.run(["strace", "-f", "-o", str(folder / "probe"), "true"], capture_output=True)
    return "strace is not allowed to trace here" if probe.returncode else ""


def record(folder: Path, module: str, *arguments: str) -> list[Call]:
    """Run a Python module that writes 'a.job' in `folder` and its acknowledgements into 'said'; what it asked for."""
    log = folder.parent / f"{folder.name}.trace"
    files = [folder, folder / "a.job", folder / "a.job-journal", folder / "said"]
    trace = "trace=openat,pwrite64,write,fdatasync,fsync,unlink,ftruncate"
    order = ["strace", "-f", "-y", "-xx", "-s", "1000000", "-e", trace, "-o", str(log)]
    for each in files:
        order += ["-P", str(each)]
    subprocess.run([*order, sys.executable, "-m", module, str(folder), *arguments], cwd=TREE, check=True, timeout=300)
    return list(_calls(log.read_text(encoding="ascii").splitlines(), folder))


def _calls(lines: Iterable[str], folder: Path) -> Iterator[Call]:
    seen: set[str] = set()
    for line in lines:
        found = _CALL.match(line)
        if found is None:
            continue
        name, rest, answer = found.groups()
        texts = [bytes.fromhex(each.replace("\\x", "")) for each in _TEXT.findall(rest)]
        file = _file(rest, texts, name, folder)
        if name == "openat" and file and file not in seen and "\\x" in rest and "O_CREAT" in rest:
            seen.add(file)
            yield Call("create", file)
        elif name == "write" and file == "said":
            yield Call("said", file, int(texts[-1]))
        elif name == "pwrite64":
            yield Call("write", file, int(rest.rsplit(",", 1)[1]), texts[-1][: int(answer)])
        elif name == "ftruncate":
            yield Call("cut", file, int(rest.rsplit(",", 1)[1]))
        elif name == "unlink":
            yield Call("remove", file)
        elif name in ("fsync", "fdatasync"):
            yield Call("sync", file)


def _file(rest: str, texts: Sequence[bytes], name: str, folder: Path) -> str:
    """Its name within the folder."""
    if name in ("openat", "unlink"):
        path = texts[-1].decode()
    else:
        held = _NAME.match(rest)
        assert held is not None, rest
        path = bytes.fromhex(held.group(1).replace("\\x", "")).decode() if "\\x" in held.group(1) else held.group(1)
    return "" if Path(path) == folder else Path(path).name


@dataclass
class Disk:
    """What is certain, and what is still under way."""

    contents: dict[str, bytes] = field(default_factory=dict)
    names: frozenset[str] = frozenset()
    pending: list[Call] = field(default_factory=list)
    acknowledged: int = 0

    def take(self, call: Call) -> None:
        """The next call."""
        if call.kind == "said":
            self.acknowledged = call.at
        elif call.kind == "sync":
            done = [each for each in self.pending if _belongs(each, call.name)]
            self.pending = [each for each in self.pending if not _belongs(each, call.name)]
            self.contents, self.names = self.image(done)
        else:
            self.pending.append(call)

    def image(self, kept: Iterable[Call]) -> tuple[dict[str, bytes], frozenset[str]]:
        """Contents and names once `kept` have reached the disk."""
        contents, names = dict(self.contents), set(self.names)
        for each in kept:
            if each.kind == "create":
                names.add(each.name)
            elif each.kind == "remove":
                names.discard(each.name)
            else:
                contents[each.name] = _changed(contents.get(each.name, b""), each)
        return contents, frozenset(names)


def _belongs(call: Call, synced: str) -> bool:
    """Names belong to the folder, bytes to their file."""
    return (call.kind in ("create", "remove")) == (synced == "") and synced in ("", call.name)


def _changed(before: bytes, call: Call) -> bytes:
    if call.kind == "cut":
        return before[: call.at].ljust(call.at, b"\0")
    whole = before.ljust(call.at, b"\0")
    return whole[: call.at] + call.data + whole[call.at + len(call.data) :]


@dataclass(frozen=True)
class Crash:
    """One state a crash may leave."""

    files: dict[str, bytes]
    acknowledged: int
    where: str

    def lay_out(self, folder: Path) -> Path:
        """As files; the job file's path."""
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        for name, data in self.files.items():
            (folder / name).write_bytes(data)
        return folder / "a.job"


def _crash(disk: Disk, kept: Iterable[Call], where: str) -> Crash:
    contents, names = disk.image(kept)
    return Crash({each: contents.get(each, b"") for each in sorted(names)}, disk.acknowledged, where)


def in_order(calls: Sequence[Call], torn: Iterable[int]) -> Iterator[Crash]:
    """After every call; and where the last append's bytes are counted through, at each of the `torn`."""
    disk, last, wanted, seen = Disk(), max(_saids(calls)[:-1], default=0), set(torn), 0
    for number, call in enumerate(calls):
        if call.kind == "write" and number > last:
            for length in range(1, len(call.data)):
                if seen + length in wanted:
                    part = Call("write", call.name, call.at, call.data[:length])
                    yield _crash(disk, [*disk.pending, part], f"call {number}, byte {length} of {call.name}")
            seen += len(call.data)
        disk.take(call)
        yield _crash(disk, disk.pending, f"after call {number} ({call.kind} {call.name})")


def bytes_of_last(calls: Sequence[Call]) -> int:
    """Bytes written for the last append."""
    last = max(_saids(calls)[:-1], default=0)
    return sum(len(each.data) for number, each in enumerate(calls) if number > last)


def _saids(calls: Sequence[Call]) -> list[int]:
    return [number for number, each in enumerate(calls) if each.kind == "said"]


def out_of_order(calls: Sequence[Call], each_time: int, dice: Random) -> Iterator[Crash]:
    """After every call, `each_time` times: of what is not synced nothing, or some, in any order, by whole sectors."""
    disk = Disk()
    for number, call in enumerate(calls):
        disk.take(call)
        if not disk.pending:
            continue
        yield _crash(disk, (), f"after call {number}: nothing of {len(disk.pending)} kept")
        for _ in range(each_time):
            kept = [part for each in disk.pending for part in _sectors(each) if dice.random() < 0.6]
            dice.shuffle(kept)
            yield _crash(disk, kept, f"after call {number}: {len(kept)} sectors in any order")


def _sectors(call: Call) -> Iterator[Call]:
    if call.kind != "write":
        yield call
        return
    start = 0
    while start < len(call.data):
        end = min(len(call.data), start + SECTOR - (call.at + start) % SECTOR)
        yield Call("write", call.name, call.at + start, call.data[start:end])
        start = end
