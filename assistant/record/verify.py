"""`pullcall verify`: what a job file proves, row by row in little memory, and what it does not."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from assistant.core.log_events import CarriedOn
from assistant.exits import Exit, one_line
from assistant.record.audit import Audit
from assistant.record.chain import START
from assistant.record.code import Match, check_code, code_of, read_code, sealed
from assistant.record.figures import clock_jump, day_and_time, duration
from assistant.record.reading import Scan, scan_job
from assistant.record.sound import Sounds, remove_sounds, sound_folders, sounds_of

PROVES = (
    "proves: the rows fit each other; one changed or taken out from the middle would have been found",
    "does not prove: whoever owns the file could cut off its end or write the whole of it anew; the job code shows "
    "that, where it was kept elsewhere",
    "does not prove: that a figure was read off the tape rightly, that the head stood where it was called, or that "
    "the clock was right",
)


@dataclass(frozen=True)
class Verdict:
    """What verifying brought."""

    scan: Scan
    audit: Audit
    sounds: Sounds
    match: Match | None
    """What the given code says; None = none was given, or the file is damaged."""
    asked: bool
    """A code was given."""

    @property
    def code(self) -> str:
        """The code of the row that closed the job, or of the last one."""
        row = sealed(self.audit.sealing)
        return code_of(START if row is None else row.hash)

    @property
    def consistent(self) -> bool:
        """Every row fits the one before, and nothing else is wrong with the file."""
        return not self.scan.damage and not self.audit.strange

    @property
    def exit(self) -> Exit:
        """DONE, or FINDINGS where anything is not as it was written, or cannot be told by this version."""
        bad_code = self.asked and self.match in (None, Match.DIFFERS)
        wrong = not self.consistent or self.scan.newer or bad_code or self.sounds.changed or not self.audit.rows
        return Exit.FINDINGS if wrong else Exit.DONE

    def as_text(self) -> str:
        """For the terminal."""
        return "\n".join(f"{name:10} {one_line(text)}" for name, text in _lines(self))

    def as_json(self) -> str:
        """For programs."""
        return json.dumps(_plain(self), indent=2, ensure_ascii=False)


def verify(path: Path, typed_code: str | None = None) -> Verdict:
    """Go through a job file of any length and hold `typed_code` against it.

    Raises Refusal: BAD_JOB for a missing or foreign file, JOB_BUSY while a session holds it, USAGE for a mistyped code.
    """
    if typed_code is not None:
        read_code(typed_code)
    audit = Audit()
    scan = scan_job(path, audit.take)
    match = None if typed_code is None or scan.damage else check_code(typed_code, audit.sealing).match
    sounds = sounds_of(sound_folders(path, (each.file for each in audit.links)), audit.sounds)
    return Verdict(scan, audit, sounds, match, typed_code is not None)


def forget_audio(path: Path) -> str:
    """Remove the sound kept beside a job; what was done, in a line. The job file is read and not written.

    Raises Refusal: BAD_JOB for a missing or foreign file, JOB_BUSY while a session holds it, NOT_WRITABLE.
    """
    audit = Audit()
    scan_job(path, audit.take)
    removed = sum(remove_sounds(each) for each in sound_folders(path, (link.file for link in audit.links)))
    told = f"{removed} recording{'' if removed == 1 else 's'} removed" if removed else "no recordings there"
    return f"{path}: {told}; the log itself, words heard included, stays as it was"


def _lines(found: Verdict) -> Iterator[tuple[str, str]]:
    scan, audit = found.scan, found.audit
    yield "file", f"{scan.path}: {audit.rows:,} rows"
    if scan.newer:
        yield "NEWER", f"written by a newer pullcall (format {scan.version}): what it added is not checked"
    if scan.damage:
        yield "DAMAGE", f"{scan.damage}; what follows rests on the {audit.rows:,} rows before"
    yield from (("DAMAGE", each) for each in audit.strange)
    if found.consistent and audit.rows:
        more = f"; {audit.unknown:,} of kinds this version does not know" if audit.unknown else ""
        yield "rows", f"every row fits the one before it{more}"
    if not audit.rows:
        yield "rows", "none: nothing was recorded" if not scan.damage else "none can be trusted"
        yield from _given(found)
        return
    yield from _code_lines(found)
    yield from _time_lines(audit)
    yield from (("moved", _link(each)) for each in audit.links)
    if found.sounds.kept:
        yield "sound", _sound(found.sounds)
    yield from (("", each) for each in PROVES if found.consistent or not each.startswith("proves"))
    if found.match in (Match.FITS, Match.LONGER):
        yield "", "proves: with the code kept elsewhere, that nothing up to the row it stands for was changed since"


def _code_lines(found: Verdict) -> Iterator[tuple[str, str]]:
    closed = "" if found.audit.closes else " (so far: the job was not closed)"
    if not found.scan.damage:
        yield "code", f"{found.code}{closed}"
    yield from _given(found)


def _given(found: Verdict) -> Iterator[tuple[str, str]]:
    if found.asked:
        yield "given", found.match.value if found.match is not None else "cannot be checked: the file is damaged"


def _time_lines(audit: Audit) -> Iterator[tuple[str, str]]:
    for each in audit.sessions:
        yield "session", f"row {each.row:,}, {day_and_time(each.wall)}: {each.program}, speech model {each.model}"
    if not audit.sessions:
        yield "session", "none is recorded: nobody knows what wrote these rows"
    for gap in audit.gaps:
        what = "between two sessions" if gap.stopped else "within a session"
        yield "gap", f"{duration(gap.seconds)} before row {gap.row:,}, {what}"
    for jump in audit.jumps:
        yield "clock", f"wall time {clock_jump(jump)}; the order is by row number"


def _link(link: CarriedOn) -> str:
    return f"after a disk error from '{link.file}': its {link.rows:,} rows are the first of this file"


def _sound(sounds: Sounds) -> str:
    told = f"kept for {sounds.kept} utterances; {sounds.there} there as written"
    if sounds.gone:
        told += f", {sounds.gone} removed (the log does not rest on them)"
    return f"{told}, {sounds.changed} CHANGED" if sounds.changed else told


def _plain(found: Verdict) -> dict[str, Any]:
    scan, audit = found.scan, found.audit
    return {
        "file": str(scan.path),
        "rows": audit.rows,
        "consistent": found.consistent,
        "damage": scan.damage or None,
        "strange_rows": audit.strange,
        "unknown_rows": audit.unknown,
        "format": scan.version,
        "newer": scan.newer,
        "closed": bool(audit.closes),
        "code": found.code if audit.rows and not scan.damage else None,
        "given_code": None if not found.asked else (found.match.name.lower() if found.match else "not checked"),
        "first": audit.first.wall if audit.first is not None else None,
        "last": audit.last.wall if audit.last is not None else None,
        "sessions": [asdict(each) for each in audit.sessions],
        "gaps": [asdict(each) for each in audit.gaps],
        "clock_jumps": [{"row": each.seq, "seconds": each.seconds} for each in audit.jumps],
        "carried_on": [asdict(each) for each in audit.links],
        "sound": {**asdict(found.sounds), "gone": found.sounds.gone},
        "proves": list(PROVES),
    }
