"""Clips cut from a corpus and put into batches: by hand-made alignments. Needs torch (extra train)."""

from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train import clips as clips_module  # noqa: E402
from assistant.train.augment import ROW, Bank, Levels  # noqa: E402
from assistant.train.clips import NEVER, Batches, Clips, Shape  # noqa: E402
from assistant.train.corpus import Alignment, Clip  # noqa: E402
from assistant.train.tables import BROKEN_SHARE, PEOPLE_WEIGHT, clips_of, rows  # noqa: E402

NUMBER = {"A": 1, "B": 2, "C": 3}


def clip(seconds: float, words: int, source: str = "synthetic", start: int = 0) -> Clip:
    return Clip(start, round(seconds * 16000), source, "x", "task", ("w",) * words)


def test_a_short_clip_is_one_row() -> None:
    """Two words, a gap between them: silences at both ends and in the gap; samples are seconds times 16000."""
    found = Alignment(0, ((("A", 0.1), ("B", 0.2)), (("C", 0.5),)), (0.4, 0.6))
    made = list(rows(clip(1.0, 2, start=500), found, NUMBER, Random(2)))
    assert len(made) == 1
    assert (made[0].start, made[0].size, made[0].weight) == (500, 16000, 1.0)
    assert made[0].chain == (0, 1, 2, 0, 3, 0)
    assert list(made[0].segments) == [
        (0, 0), (1, 1600), (2, 3200), (0, 6400), (3, 8000), (0, 9600),
    ]  # fmt: skip


def test_words_without_a_gap_have_no_silence_in_their_segments_but_may_in_their_chain() -> None:
    found = Alignment(0, ((("A", 0.0),), (("B", 0.3),)), (0.3, 0.6))
    made = next(rows(clip(0.6, 2, source="an4"), found, NUMBER, Random(1)))
    assert made.chain == (0, 1, 0, 2, 0)
    assert [phone for phone, _ in made.segments] == [0, 1, 2, 0]
    assert made.weight == PEOPLE_WEIGHT


def test_a_word_with_phones_of_its_own_has_them_in_chain_and_segments() -> None:
    found = Alignment(0, ((("A", 0.1), ("B", 0.2)), (("A", 0.5),)), (0.4, 0.6))
    said = Clip(0, 16000, "synthetic", "x", "task", ("mine", "yours"))
    made = next(rows(said, found, {"A": 1, "B": 2, "A@mine": 7, "B@mine": 8}, Random(1)))
    assert made.chain == (0, 7, 8, 0, 1, 0)
    assert [phone for phone, _ in made.segments] == [0, 7, 8, 0, 1, 0]


def test_what_is_broken_off_in_a_word_is_no_word() -> None:
    """The whole words before keep their own phones; of the last only phones of any word are left, up to the break."""
    found = Alignment(0, ((("A", 0.1), ("B", 0.2)), (("A", 0.5), ("B", 0.6), ("C", 0.7))), (0.4, 0.9))
    said, own = Clip(0, 16000, "synthetic", "x", "task", ("mine", "ours")), {"A": 1, "B": 2, "C": 3}
    own |= {f"{phone}@{word}": 10 + place for place, (word, phone) in enumerate(
        (word, phone) for word in ("mine", "ours") for phone in "ABC")}  # fmt: skip
    broken = set()
    for seed in range(400):
        _, *more = rows(said, found, own, Random(seed))
        assert len(more) <= 1
        broken |= {(each.chain, each.start + each.size) for each in more}
    assert broken == {
        ((0, 1, 0), 3200), ((0, 10, 11, 0, 1, 0), 9600), ((0, 10, 11, 0, 1, 2, 0), 11200),
    }  # fmt: skip
    count = sum(len(list(rows(said, found, own, Random(seed)))) - 1 for seed in range(1000))
    assert count / 1000 == pytest.approx(BROKEN_SHARE, abs=0.05)


@st.composite
def long_clips(draw: st.DrawFn) -> tuple[Clip, Alignment]:
    at, words, ends = draw(st.floats(0, 0.5)), [], []
    for _ in range(draw(st.integers(8, 30))):
        size = draw(st.floats(0.1, 0.6))
        words.append((("A", round(at, 3)), ("B", round(at + size / 2, 3))))
        ends.append(round(at + size, 3))
        at += size + draw(st.sampled_from([0.0, 0.05, 0.3, 0.8]))
    return clip(round(at + draw(st.floats(0.01, 1.0)), 3) + 5.0, len(words)), Alignment(0, tuple(words), tuple(ends))


@given(long_clips(), st.integers(0, 99))
def test_a_long_clip_is_cut_between_words_and_every_word_is_whole_in_one_piece(
    made: tuple[Clip, Alignment], seed: int
) -> None:
    whole, found = made
    pieces = [piece for piece in rows(whole, found, NUMBER, Random(seed)) if piece.chain[-2] == 2]
    spoken = 0
    for piece in pieces:
        count = piece.chain.count(1)
        assert piece.chain == (0, *(1, 2, 0) * count)
        for word in range(spoken, spoken + count):
            begin, end = found.words[word][0][1] * 16000, found.ends[word] * 16000
            assert piece.start <= begin + 1 and end <= piece.start + piece.size + 1
        heard = [(phone, at + piece.start) for phone, at in piece.segments if phone]
        wanted = [(NUMBER[p], at * 16000) for word in found.words[spoken : spoken + count] for p, at in word]
        assert [phone for phone, _ in heard] == [phone for phone, _ in wanted]
        assert max(abs(one - two) for (_, one), (_, two) in zip(heard, wanted, strict=True)) <= 1.5
        spoken += count
    assert spoken == len(found.words)
    assert all(one.start + one.size <= two.start + 1 for one, two in pairwise(pieces))


def table() -> Clips:
    """One second of two clips: the first aligned, the second not."""
    found = Alignment(0, ((("A", 0.1), ("B", 0.2)), (("C", 0.5),)), (0.4, 0.6))
    made = list(rows(clip(1.0, 2), found, NUMBER, Random(1)))
    return clips_of(np.arange(32000, dtype=np.int16), made, torch.device("cpu"))


def batches(clips: Clips, *shapes: Shape, whispered: float = 0.2) -> Batches:
    bank = Bank(torch.device("cpu"), [torch.randn(8, ROW)], rows=8, room_count=2)
    return Batches(clips, shapes, bank, Levels(whispered_share=whispered))


@pytest.fixture(scope="module")
def made() -> Batches:
    return batches(table(), Shape(20000, 24000, 4))


def labels(made: Batches, speed: float, lead: float, frames: int) -> list[int]:
    one = torch.tensor([0])
    return made._labels(one, torch.tensor([[speed]]), torch.tensor([[lead]]), frames)[0].tolist()


@pytest.mark.parametrize(("speed", "lead"), [(1.0, 0.0), (1.0, 3000.0), (1.12, 800.0), (0.9, 5000.0)])
def test_a_frame_is_labelled_by_what_is_said_at_its_centre(made: Batches, speed: float, lead: float) -> None:
    """Frame k is centred on sample 480 k + 200; at that place of the clip the hand-made alignment is looked up.

    What stands before and after the clip is the silence its ends are: one silence, so one first frame.
    """
    bounds = [(0.0, 0), (0.1, 1), (0.2, 2), (0.4, 0), (0.5, 3), (0.6, 0)]
    wanted, last = [], -1
    for frame in range(50):
        second = (480 * frame + 200 - lead) * speed / 16000
        segment = max([k for k, (begin, _) in enumerate(bounds) if begin <= second + 1e-9], default=0)
        wanted.append(2 * bounds[segment][1] + (segment == last))
        last = segment
    assert labels(made, speed, lead, 50) == wanted


def test_a_clip_is_played_at_its_speed_from_its_lead_on(made: Batches) -> None:
    """The clip's samples are their own places, so what is heard at sample n is (n - lead) speed."""
    sound, level = made._played(torch.tensor([0]), torch.tensor([[0.9]]), torch.tensor([[1000.0]]), 24000)
    assert sound[0, :1000].abs().max() == 0
    for place in (1001, 5000, 12345):
        assert float(sound[0, place]) == pytest.approx((place - 1000) * 0.9, abs=0.01)
    assert sound[0, 1000 + round(15999 / 0.9) + 2 :].abs().max() == 0
    inside = sound[0, 1000 : 1000 + round(15999 / 0.9)]
    assert float(level[0, 0]) == pytest.approx(float(inside.square().mean().sqrt()), rel=1e-3)


def test_a_batch_has_the_shapes_a_step_needs(made: Batches) -> None:
    torch.manual_seed(1)
    batch = made.make(0)
    frames = (24000 - 400) // 160 + 1
    assert batch.frames == -(-frames // 3)
    assert tuple(batch.labels.shape) == (batch.frames, 4)
    assert tuple(batch.cepstra.shape) == (2 * 34 + frames + -frames % 3, 4, 40)
    assert bool(torch.isfinite(batch.cepstra).all())


def test_a_row_of_noise_alone_is_one_silence(made: Batches, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its first frame is a silence's first, the others are its rest, and nothing is said in it."""
    monkeypatch.setattr(clips_module, "SILENT_SHARE", 1.1)
    batch = made.make(0)
    assert batch.labels[0].tolist() == [0] * 4
    assert batch.labels[1:].unique().tolist() == [1]
    assert batch.chain_size.tolist() == [1] * 4 and batch.chain[:, 0].tolist() == [0] * 4
    assert batch.aligned.all()


@pytest.mark.parametrize(("share", "rows_"), [(0.0, []), (0.25, [1]), (1.0, [4])])
def test_so_large_a_share_of_a_batch_is_whispered(
    share: float, rows_: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    taken = []

    def whispered(sound: torch.Tensor) -> torch.Tensor:
        taken.append(len(sound))
        return sound

    monkeypatch.setattr(clips_module, "whispered", whispered)
    batches(table(), Shape(20000, 24000, 4), whispered=share).make(0)
    assert taken == rows_


def test_clips_come_by_their_weight_and_in_the_shape_they_fit() -> None:
    """Three clips: one fits the first shape, one the second; one of weight 0 never comes."""
    base = table()
    clips = Clips(
        audio=base.audio, start=torch.tensor([0, 0, 0]), size=torch.tensor([9000, 15000, 8000]),
        chain=torch.tensor([[0, 1, 0], [0, 2, 0], [0, 3, 0]]), chain_size=torch.tensor([3, 3, 3]),
        segment_phone=torch.zeros(3, 2, dtype=torch.int64), segment_begin=torch.full((3, 2), NEVER),
        weight=torch.tensor([1.0, 1.0, 0.0]),
    )  # fmt: skip
    made = batches(clips, Shape(10000, 14000, 6), Shape(16000, 20000, 6))
    assert made.make(0).chain[:, 1].unique().tolist() == [1]
    assert made.make(1).chain[:, 1].unique().tolist() == [2]
    assert made.shares.tolist() == pytest.approx([9000 / 60000, 15000 / 96000])
    told = made.make(1)
    assert told.aligned.tolist() == [size == 1 for size in told.chain_size.tolist()], "only noise alone is aligned"
