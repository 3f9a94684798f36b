"""The fleet, a script standing in for every command of the package; and corpora joined to one."""

import json
import sys
from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Exit, Refusal
from assistant.train import fleet
from assistant.train.corpus import CorpusWriter, join, read_audio, read_clips
from assistant.train.fleet import Plan, Training, read_plan, sail

PLAN = """
speech_s = 1.5
train_s = 2
voices = 3
gpus = 2
model = "model"
speech_data = "speech"
formant = 5
joined = 7
seed = 40
synthesiser = ["--kokoro", "k.onnx"]

[[networks]]
name = "elder"
start = "final.mdl"
whispered = 0.3

[[networks]]
name = "fresh"
more = ["--wide", "16"]

[[networks]]
name = "third"
"""
STAND_IN = """
import json, os, sys
from pathlib import Path
command, words = sys.argv[1], sys.argv[2:]
given = dict(zip(words[::2], words[1::2]))
corpus = Path(given["--corpus"])
print("gpu", os.environ["CUDA_VISIBLE_DEVICES"], command, *words)
if command in ("synthesise", "people"):
    corpus.mkdir()
    if given.get("--seed") == BAD:
        sys.exit("no voice")
    (corpus / "audio.i2").write_bytes(bytes(8))
    row = dict(start=0, size=4, source="x", speaker=corpus.name, kind="task", words=["yes"])
    (corpus / "clips.jsonl").write_text(json.dumps(row) + chr(10))
    if given.get("--seed") == LATE:
        sys.exit("gone in the middle")
elif command == "realign":
    count = len((corpus / "clips.jsonl").read_text().splitlines())
    rows = [json.dumps(dict(clip=n, words=[], ends=[])) for n in range(count)]
    (corpus / "alignment.jsonl").write_text(chr(10).join(rows) + chr(10))
else:
    Path(given["--checkpoint"]).write_text("trained")
"""


@pytest.fixture
def plan(tmp_path: Path) -> Plan:
    (tmp_path / "plan.toml").write_text(PLAN, encoding="utf-8")
    return read_plan(tmp_path / "plan.toml")


def stand_in(folder: Path, monkeypatch: pytest.MonkeyPatch, bad: str = "none", late: str = "none") -> None:
    """Every command is the script above."""
    file = folder / "stand_in.py"
    file.write_text(f"BAD, LATE = {bad!r}, {late!r}\n{STAND_IN}", encoding="utf-8")
    (folder / "python").write_text(f'#!/bin/sh\nshift 2\nexec "{sys.executable}" "{file}" "$@"\n', encoding="utf-8")
    (folder / "python").chmod(0o755)
    monkeypatch.setattr(fleet.sys, "executable", str(folder / "python"))


def test_all_that_is_spoken_is_aligned_and_trained_on(
    plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand_in(tmp_path, monkeypatch)
    sail(plan, tmp_path / "out")
    all_ = read_clips(tmp_path / "out" / "all")
    assert sorted(each.speaker for each in all_) == ["formant", "people", "voice00", "voice01", "voice02"]
    assert [each.start for each in all_] == [0, 4, 8, 12, 16]
    rows = (tmp_path / "out" / "all" / "alignment.jsonl").read_text(encoding="utf-8").splitlines()
    assert [json.loads(each)["clip"] for each in rows] == [0, 1, 2, 3, 4]
    logs = ("voice01", "formant", "people", "elder", "fresh", "third")
    log = {each: (tmp_path / "out" / f"{each}.log").read_text() for each in logs}
    assert "gpu 1 synthesise" in log["voice01"]
    assert "--kokoro k.onnx --clips 1000000 --seconds 1.5 --seed 41" in log["voice01"]
    assert "--clips 0 --formant 5 --seed 43" in log["formant"]
    assert log["people"].endswith("--folder speech --joined 7 --seed 40\n")
    assert "gpu 0 train" in log["elder"]
    assert "--start final.mdl --number 0 --cross-entropy-s 0 --whispered 0.3" in log["elder"]
    assert "gpu 1 train" in log["fresh"]
    assert "gpu 0 train" in log["third"], "more networks than GPUs: one has two"
    assert "--start" not in log["fresh"]
    assert log["fresh"].endswith("--whispered 0.2 --wide 16\n")
    assert (tmp_path / "out" / "fresh.npz").exists()


def test_a_voice_that_never_spoke_ends_the_fleet(plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(tmp_path, monkeypatch, bad="42")
    with pytest.raises(Refusal, match=r"voice02\.log: no voice") as refusal:
        sail(plan, tmp_path / "out")
    assert refusal.value.code == Exit.FINDINGS
    assert not (tmp_path / "out" / "all").exists()


def test_what_a_voice_had_spoken_is_kept(
    plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stand_in(tmp_path, monkeypatch, late="40")
    sail(plan, tmp_path / "out")
    assert "voice00.log: gone in the middle; its clips are kept" in capsys.readouterr().err
    assert len(read_clips(tmp_path / "out" / "all")) == 5


@pytest.mark.parametrize(("told", "why"), [("speech_s = ", "Invalid value"), ("wind = 1\n" + PLAN, "'wind'")])
def test_a_broken_plan_names_file_and_entry(tmp_path: Path, told: str, why: str) -> None:
    (tmp_path / "plan.toml").write_text(told, encoding="utf-8")
    with pytest.raises(Refusal, match=r"plan\.toml: .*" + why):
        read_plan(tmp_path / "plan.toml")


def test_what_a_plan_leaves_out_has_its_usual_value(plan: Plan) -> None:
    assert plan.networks[1] == Training("fresh", more=["--wide", "16"])


def test_several_corpora_become_one(tmp_path: Path) -> None:
    for name, level in (("a", 1), ("b", 2)):
        writer = CorpusWriter(tmp_path / name)
        for size in (3, 5):
            writer.add(np.full(size, level, np.int16), "synthetic", name, "task", ["yes"])
    row = json.dumps({"clip": 1, "words": [[["Y", 0.1]]], "ends": [0.2]})
    (tmp_path / "b" / "alignment.jsonl").write_text(row + "\n", encoding="utf-8")
    join(tmp_path / "all", [tmp_path / "a", tmp_path / "b"])
    audio, clips = read_audio(tmp_path / "all"), read_clips(tmp_path / "all")
    sounds = [audio[each.start : each.start + each.size].tolist() for each in clips]
    assert sounds == [[1] * 3, [1] * 5, [2] * 3, [2] * 5]
    assert json.loads((tmp_path / "all" / "alignment.jsonl").read_text())["clip"] == 3
    with pytest.raises(Refusal, match="has clips already"):
        join(tmp_path / "all", [tmp_path / "a"])
