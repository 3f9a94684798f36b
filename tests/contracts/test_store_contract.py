"""What every store owes the session; the job file is the one that is shipped."""

from pathlib import Path

import pytest

from assistant.exits import Exit, Refusal
from assistant.ports import Store
from assistant.record.job_file import begin_job, resume_job
from assistant.record.job_log import JobLog
from tests.record.scenario import ScriptedClock


class StoreContract:
    """Subclass and provide `store` (fresh) and `reopened` (closed and opened again)."""

    @pytest.fixture
    def store(self) -> Store:
        raise LookupError("a subclass provides it")

    def reopened(self, store: Store) -> Store:
        raise LookupError("a subclass provides it")

    def test_starts_empty(self, store: Store) -> None:
        assert list(store.rows()) == []

    def test_numbers_from_one_and_answers_the_last(self, store: Store) -> None:
        assert store.append([("a", "{}"), ("b", '{"x":1}')]) == 2
        assert store.append([("c", "{}")]) == 3

    def test_keeps_order_kind_and_payload(self, store: Store) -> None:
        store.append([("b", '{"x":"é"}'), ("a", "{}")])
        store.append([("a", "{}")])
        assert list(store.rows()) == [("b", '{"x":"é"}'), ("a", "{}"), ("a", "{}")]

    def test_nothing_appended_changes_nothing(self, store: Store) -> None:
        store.append([("a", "{}")])
        assert store.append([]) == 1
        assert list(store.rows()) == [("a", "{}")]

    def test_all_or_none(self, store: Store) -> None:
        store.append([("a", "{}")])
        with pytest.raises(UnicodeEncodeError):
            store.append([("b", "{}"), ("c", "\ud800")])
        assert list(store.rows()) == [("a", "{}")]
        assert store.append([("d", "{}")]) == 2

    def test_survives_close(self, store: Store) -> None:
        store.append([("a", "{}"), ("b", "{}")])
        again = self.reopened(store)
        assert list(again.rows()) == [("a", "{}"), ("b", "{}")]
        assert again.append([("c", "{}")]) == 3


class TestJobFile(StoreContract):
    @pytest.fixture
    def store(self, tmp_path: Path) -> Store:
        self.path = tmp_path / "a.job"
        return begin_job(self.path, ScriptedClock())

    def reopened(self, store: Store) -> Store:
        store.close()
        return resume_job(self.path, ScriptedClock())

    def test_held_by_one_run(self, store: Store) -> None:
        with pytest.raises(Refusal) as refused:
            resume_job(self.path, ScriptedClock())
        assert refused.value.code is Exit.JOB_BUSY


class TestJobLog(StoreContract):
    """What a session writes to: the job file, and whatever follows it."""

    @pytest.fixture
    def store(self, tmp_path: Path) -> Store:
        self.path = tmp_path / "a.job"
        return JobLog(begin_job(self.path, ScriptedClock()), ScriptedClock(), print)

    def reopened(self, store: Store) -> Store:
        store.close()
        return JobLog(resume_job(self.path, ScriptedClock()), ScriptedClock(), print)
