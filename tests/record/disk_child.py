"""Children of the disk tests, run where the disk is small, read-only or failing. Prints JSON about what happened."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from assistant.conversation import Conversation
from assistant.core.fold import fold
from assistant.core.meaning import Meaning
from assistant.exits import Refusal
from assistant.ports import Heard
from assistant.record.code import job_code
from assistant.record.codec import decode
from assistant.record.job_file import begin_job, resume_job
from assistant.record.job_log import JobLog
from assistant.record.reading import read_job
from assistant.record.trouble import DiskFull
from assistant.wording import Wording
from tests.record import scenario
from tests.record.scenario import ScriptedClock


class Session:
    """A conversation on a job file, with what was said and what it was told of new files."""

    def __init__(self, path: Path) -> None:
        clock = ScriptedClock()
        self.said: list[str] = []
        self.moved: list[str] = []
        self.log = JobLog(begin_job(path, clock), clock, lambda new: self.moved.append(new.name))
        self.conversation = Conversation(self.log, self._answer, scenario.started())

    def _answer(self, wording: Wording, tone: object) -> None:
        self.said.append(wording.say)

    def job_number(self, number: int) -> None:
        """A turn at the job's first question; taken back, so that it can be asked again."""
        self.conversation.take(Heard(f"job {number}", Meaning("job", digits=str(number)), 1.0, 0.0, 1.0))
        ask = self.conversation.ask
        assert ask is not None
        self.conversation.take(Heard("scratch that", Meaning("undo"), 1.0, 0.0, 1.0))


def free(folder: Path) -> int:
    found = os.statvfs(folder)
    return found.f_bavail * found.f_frsize


def full(folder: Path) -> list[dict[str, Any]]:
    """A job on a disk that is filled at each of its writes, emptied, and gone on with."""
    results = []
    for left in range(free(folder) // 4096 - 4):
        path, ballast = folder / f"{left}.job", folder / "ballast"
        session = Session(path)
        acknowledged, warned = 0, False
        ballast.write_bytes(bytes(max(0, free(folder) - 4096 * left)))
        for number in range(200):
            spoken, rows = len(session.said), len(list(session.log.rows()))
            state = session.conversation.state
            try:
                session.job_number(number)
            except DiskFull:
                warned = session.said[-1] == "The disk is full. Not recorded. Make room, say it again."
                half = session.conversation.state != fold(decode(*each) for each in session.log.rows())
                results.append({"left": left, "warned": warned, "half": half, "spoken": len(session.said) - spoken})
                break
            acknowledged = len(list(session.log.rows()))
            assert rows < acknowledged and state is not session.conversation.state
        ballast.unlink()
        acknowledged = len(list(session.log.rows()))
        session.job_number(999)
        session.log.close()
        after = read_job(path)
        results[-1] |= {
            "before": acknowledged,
            "after": len(after.rows),
            "damage": after.damage,
            "moved": session.moved,
        }
        results[-1]["last"] = [row.kind for row in after.rows][-4:]
        path.unlink()
    return results


def read_only(folder: Path) -> dict[str, Any]:
    """A disk that is read-only when a session begins or goes on."""
    session = Session(folder / "a.job")
    session.job_number(1)
    found: dict[str, Any] = {"acknowledged": len(list(session.log.rows()))}
    session.log.close()
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    for name, way in (("b.job", begin_job), ("a.job", resume_job)):
        try:
            way(folder / name, ScriptedClock()).close()
        except Refusal as refusal:
            found[name] = [int(refusal.code), refusal.line]
    return {**found, "read": len(read_job(folder / "a.job").rows)}


def failing(folder: Path) -> dict[str, Any]:
    """A job while the tracer makes syncs fail; every acknowledged number with the file it stands in."""
    rows: list[tuple[str, str]] = []
    clock = ScriptedClock()
    moved: list[str] = []
    acknowledged: list[tuple[int, str]] = []
    log = None
    try:
        log = JobLog(begin_job(folder / "a.job", clock), clock, lambda new: moved.append(new.name))
        for number in range(4):
            rows = [("noted", f'{{"number":{number}}}'), ("hooked", "{}")]
            acknowledged.append((log.append(rows), log.path.name))
    except Refusal as refusal:
        return {"line": refusal.line, "acknowledged": acknowledged, "moved": moved, "failed": type(refusal).__name__}
    code = job_code(log.history())
    log.close()
    return {"acknowledged": acknowledged, "moved": moved, "code": code}


if __name__ == "__main__":
    print(
        "RESULT "
        + json.dumps({"full": full, "read_only": read_only, "failing": failing}[sys.argv[1]](Path(sys.argv[2])))
    )
