"""The demo: one whole job from bundled recordings, decided by what is heard and by nothing else."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
import soundfile

from assistant.cli import main
from assistant.exits import Exit
from assistant.ports import RATE
from assistant.record.reading import read_job
from assistant.record.sound import Sounds
from assistant.record.verify import verify
from assistant.shelf import recordings_folder

DEMO = recordings_folder() / "demo"


def run_demo(out: Path, recordings: Path = DEMO) -> dict[str, Any]:
    assert main(["demo", "--quiet", "--out", str(out), "--recordings", str(recordings)]) == Exit.DONE
    found: dict[str, Any] = json.loads((out / "demo.json").read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="module")
def as_bundled(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    out = tmp_path_factory.mktemp("demo") / "out"
    return out, run_demo(out)


def test_the_bundled_job_is_finished_and_shows_its_mishaps(as_bundled: tuple[Path, dict[str, Any]]) -> None:
    out, found = as_bundled
    report = (out / "demo.html").read_text(encoding="utf-8")
    kinds = {each["kind"] for each in found["findings"]}
    assert found["finished"]
    assert {"head too far", "misheard", "scratched", "skipped"} <= kinds
    # Short twice, then in band: the first reading needed about two more bites.
    readings = [each["moved"]["tape"] for each in found["pulls"][0]["readings"]]
    assert readings == ["3/8 in", "3/4 in", "1 1/8 in"]
    for trace in ("head 5 in, then 2 1/2 in off the wall", "pipe", "Job 0427", found["code"].split()[0]):
        assert trace in report


def test_another_recording_makes_another_job(as_bundled: tuple[Path, dict[str, Any]], tmp_path: Path) -> None:
    _, bundled = as_bundled
    other = tmp_path / "recordings"
    shutil.copytree(DEMO, other)
    # Recording 08 says 'nine feet two inches'; 10 says 'eight feet one inch'.
    shutil.copy(DEMO / "10.ogg", other / "08.ogg")
    found = run_demo(tmp_path / "out", other)
    assert bundled["room"]["length"]["tape"] == "9 ft 2 in"
    assert found["room"]["length"]["tape"] == "8 ft 1 in"


@pytest.mark.parametrize(
    ("text", "named"),
    [(None, "cannot be read"), ("file\tvoice\n01.ogg\n", "needs the columns"), ("", "holds no recordings")],
)
def test_a_broken_playlist_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str | None, named: str
) -> None:
    if text is not None:
        (tmp_path / "playlist.tsv").write_text(text, encoding="utf-8")
    assert main(["demo", "--quiet", "--out", str(tmp_path / "out"), "--recordings", str(tmp_path)]) == Exit.BAD_AUDIO
    assert named in capsys.readouterr().err


def test_an_earlier_job_is_never_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "demo.job").touch()
    assert main(["demo", "--quiet", "--out", str(tmp_path)]) == Exit.NOT_WRITABLE
    assert "holds a job already" in capsys.readouterr().err


def test_audio_is_kept_where_that_is_asked_for(tmp_path: Path) -> None:
    """Each utterance with words as a file beside the job, and none that was not heard."""
    first = tmp_path / "recordings"
    shutil.copytree(DEMO, first)
    lines = (DEMO / "playlist.tsv").read_text(encoding="utf-8").splitlines()
    (first / "playlist.tsv").write_text("\n".join(lines[:5]) + "\n", encoding="utf-8")
    out = tmp_path / "out"
    assert main(["demo", "--quiet", "--keep-audio", "--out", str(out), "--recordings", str(first)]) == Exit.DONE
    rows = [row.kind for row in read_job(out / "demo.job").rows]
    found = verify(out / "demo.job").sounds
    assert found == Sounds(kept=4, there=4) and rows.count("said") == 4
    for file in (out / "demo-audio").iterdir():
        samples, rate = soundfile.read(file)
        assert rate == RATE and 0.3 < len(samples) / rate < 9
        assert abs(samples).max() > 0.05
    assert not list(as_heard_without(tmp_path, first).glob("*-audio"))


def as_heard_without(place: Path, recordings: Path) -> Path:
    out = place / "unasked"
    main(["demo", "--quiet", "--out", str(out), "--recordings", str(recordings)])
    return out
