"""The rows of files one after another through one connection, and their chains beside `record.chain`."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from random import Random

import pytest

from assistant.exits import Refusal
from assistant.ledger.links import RawRow, must_hold
from assistant.ledger.made import write_job
from assistant.ledger.rows import glance, rows_of
from assistant.ledger.turns import Doubt
from assistant.record import schema, trouble
from assistant.record.chain import START, Row, chained, first_break
from tests.ledger.yard import BEGUN, talks, write_jobs
from tests.record.test_job_file import tamper

_UNREADABLE = (Doubt, Refusal, *trouble.UNREADABLE)


def test_each_file_is_read_as_it_is_whatever_was_read_before(tmp_path: Path) -> None:
    """What SQLite keeps of one file must not be told of the next: long after short, sound after damaged."""
    files = [
        write_job(tmp_path / f"{n}.job", talks()[n % 6][: 40 + 30 * (n % 5)], BEGUN).read_bytes() for n in range(9)
    ]
    wanted = []
    for number in range(9):
        with closing(sqlite3.connect(tmp_path / f"{number}.job")) as base:
            wanted.append(base.execute(f"SELECT {schema.COLUMNS} FROM rows ORDER BY seq").fetchall())
    dice = Random("rows")
    for _ in range(60):
        number = dice.randrange(9)
        assert rows_of(files[number]) == wanted[number]
        seen = glance(files[number])
        assert (seen.rows, seen.begun) == (len(wanted[number]), wanted[number][0][1])
        assert seen.pairs == [row[3:5] for row in wanted[number] if row[3] != "said"]
        bad = bytearray(files[number])
        bad[dice.randrange(100, len(bad))] ^= 1 << dice.randrange(8)
        for reading in (rows_of, glance):
            for data in (bytes(bad), bytes(bad[: len(bad) // 2]), b"no job" * 300, b""):
                try:
                    reading(data)
                except (*_UNREADABLE, MemoryError):
                    pass


@pytest.mark.parametrize("reading", [rows_of, glance])
def test_pages_that_are_not_as_usual_are_doubted(tmp_path: Path, reading: object) -> None:
    assert callable(reading)
    sound = write_jobs(tmp_path, 1)[0].read_bytes()
    reading(sound)
    moved = tmp_path / "moved.job"
    with closing(sqlite3.connect(moved)) as base:  # the same layout, but its table begins at another page
        base.execute("CREATE TABLE other (x)")
        schema.create(base)
        base.execute("DROP TABLE other")
        base.commit()
        base.executemany("INSERT INTO rows VALUES (?, ?, ?, ?, ?, ?)", [(1, "w", 1, "k", "{}", "h")])
        base.commit()
    with closing(sqlite3.connect(tmp_path / "000.job")) as base:
        base.execute("DROP TRIGGER rows_no_update")
        base.commit()
    for data in (moved.read_bytes(), (tmp_path / "000.job").read_bytes()):
        with pytest.raises(Doubt):
            reading(data)
    reading(sound)


def test_damaged_pages_are_found_though_a_sound_file_was_read_before(tmp_path: Path) -> None:
    """As SQLite's own check finds them on a connection of their own."""
    path = write_jobs(tmp_path, 1)[0]
    sound, found, dice = path.read_bytes(), 0, Random("pages")
    for _ in range(150):
        bad = bytearray(sound)
        at = dice.randrange(1, len(bad) // 4096) * 4096 + dice.randrange(60)  # where a page keeps its own book
        bad[at] ^= 1 << dice.randrange(8)
        with closing(sqlite3.connect(":memory:")) as alone:
            try:
                alone.deserialize(bytes(bad))
                whole = alone.execute("PRAGMA quick_check(1)").fetchone() == ("ok",)
            except (sqlite3.Error, MemoryError):
                whole = False
        rows_of(sound)
        if not whole:
            found += 1
            with pytest.raises((*_UNREADABLE, MemoryError)):
                rows_of(bytes(bad))
    assert found > 10


def test_too_many_rows_are_left_to_the_careful_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = write_jobs(tmp_path, 1)[0].read_bytes()
    monkeypatch.setattr("assistant.record.schema.MOST_ROWS", 150)
    for reading in (rows_of, glance):
        with pytest.raises(Doubt):
            reading(data)


# --- The chain --------------------------------------------------------------------------------------------------


def linked(parts: Sequence[tuple[str, int, str, str]]) -> list[RawRow]:
    rows: list[RawRow] = []
    before = START
    for seq, (wall, ms, kind, payload) in enumerate(parts, start=1):
        row = chained(seq, wall, ms, kind, payload, before)
        rows.append((seq, wall, ms, kind, payload, before := row.hash))
    return rows


def holds(rows: Sequence[RawRow]) -> bool:
    try:
        must_hold(rows)
    except Doubt:
        return False
    return True


ODD = [
    ("2026-03-17T08:05:09.000+00:00", 9, "said", "{}"),
    ("", 0, "", ""),
    ("w", -5, "k", "x" * 127),
    ("w", 10**15, "k", "x" * 128),
    ("w", 1, "k", "x" * 5000),
    ("w", 1, "naïve", "short, but “not” all of one byte"),
    ("é", 1, "k", "\ud800"),
    ("w" * 127, 1, "k" * 127, "x"),
]


def test_rows_of_every_length_and_sign_hold_as_the_chain_says() -> None:
    rows = linked(ODD * 150)
    assert first_break([Row(*each) for each in rows]) is None and holds(rows)


def test_whatever_is_changed_is_found() -> None:
    dice, rows = Random("links"), linked(ODD)
    for _ in range(300):
        at, column = dice.randrange(len(rows)), dice.randrange(6)
        value = dice.choice((rows[dice.randrange(len(rows))][column], 7, 7.5, "7", b"7", None, rows[at][4] + " "))
        changed = [*rows]
        changed[at] = (*rows[at][:column], value, *rows[at][column + 1 :])  # type: ignore[assignment]
        if repr(changed) != repr(rows):
            assert first_break([Row(*each) for each in changed]) is not None
            assert not holds(changed), (at, column, value)
    for at in range(len(rows) - 1):
        assert not holds([*rows[:at], *rows[at + 1 :]]) and not holds(
            [*rows[:at], rows[at + 1], rows[at], *rows[at + 2 :]]
        )


def test_a_wall_time_or_kind_beyond_measure_is_left_to_the_careful_reading() -> None:
    assert not holds(linked([("w" * 128, 1, "k", "x")])) and not holds(linked([("w", 1, "k" * 128, "x")]))


def test_a_tampered_file_is_seen_at_a_glance_but_not_believed(tmp_path: Path) -> None:
    path = write_jobs(tmp_path, 1)[0]
    tamper(path, "UPDATE rows SET wall = '2020' WHERE seq = 7")
    assert glance(path.read_bytes()).rows == 200 and not holds(rows_of(path.read_bytes()))
