"""Child of the soak: days of work in one process, the hours passing on a scripted clock. Prints JSON."""

import gc
import json
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

from assistant.conversation import Conversation
from assistant.ports import Heard
from assistant.record.job_file import begin_job
from assistant.record.job_log import JobLog
from assistant.record.review import review
from assistant.record.verify import verify
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand
from tests.conftest import SETUP
from tests.record import scenario
from tests.record.scenario import BEGIN, ScriptedClock

SECONDS = 30
"""Between two utterances of somebody at work."""
PULL = ("seven eighths", "scratch that", "one and an eighth", "[unk]", "two inches", "hooked")
"""Said at each pull; after it whatever leads on."""
ONWARD = {"hold": "one and seven eighths", "ready": "ready", "confirm": "yes", "paused": "resume"}


def memory_kb() -> int:
    gc.collect()
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1])


def job(folder: Path, number: int, clock: ScriptedClock) -> int:
    """One room from the first question to the report; how many utterances it took."""
    path = folder / f"{number}.job"
    log = JobLog(begin_job(path, clock), clock, print)
    conversation = Conversation(log, lambda wording, tone: None, scenario.started())
    said = 0

    def take(text: str) -> None:
        nonlocal said
        ask = conversation.ask
        if ask is not None:
            clock.pass_by(SECONDS)
            conversation.take(Heard(text, understand(text, grammar(ask.grammar)), 0.9, 0.0, 1.0))
            said += 1

    for text in SETUP:
        take(text)
    while (ask := conversation.ask) is not None and ask.grammar != "close":
        for text in PULL if ask.grammar == "pull" else (ONWARD[ask.grammar],):
            take(text)
        assert said < 1_000, "the job comes to no end"
    take("finish job")
    log.close()
    review(path)
    assert verify(path).consistent
    return said


def main(days: int) -> None:
    clock, measured, said = ScriptedClock(), [], 0
    with tempfile.TemporaryDirectory() as folder:
        number = 0
        while clock.now < BEGIN + timedelta(hours=8 * days):
            number += 1
            said += job(Path(folder), number, clock)
            hours = (clock.now - BEGIN).total_seconds() / 3600
            handles = len(list(Path("/proc/self/fd").iterdir()))
            measured.append({"hours": hours, "kb": memory_kb(), "handles": handles})
    print(json.dumps({"said": said, "measured": measured}))


if __name__ == "__main__":
    main(int(sys.argv[1]))
