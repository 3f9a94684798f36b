"""Child of test_job_file: appends rows for ever and prints each acknowledged number at once. Ends by being killed."""

import sys
from pathlib import Path

from assistant.record.clock import SystemClock
from assistant.record.job_file import begin_job, resume_job


def main(path: Path) -> None:
    clock = SystemClock()
    job = resume_job(path, clock) if path.exists() else begin_job(path, clock)
    count = 0
    while True:
        count += 1
        rows = [("hooked", "{}")] * (1 + count % 3)
        sys.stdout.write(f"{job.append(rows)}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
