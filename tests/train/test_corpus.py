"""The corpus on disk, sentences and speakers for it, and recordings made anew. No torch, no synthesiser: a voice that
hums stands in for it.
"""

import re
import struct
from collections import Counter
from dataclasses import asdict
from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile

from assistant.hearing.manifest import Item
from assistant.speech.grammars import ATTENTION, asks, grammar, lexicon, vocabulary
from assistant.speech.sampler import sample
from assistant.speech.understand import understand
from assistant.train.corpus import (
    BREATH,
    FASTEST,
    SLOW,
    SLOW_SHARE,
    SLOWEST,
    Clip,
    CorpusWriter,
    add_formant,
    drawn,
    noises,
    people,
    read_audio,
    read_clips,
    synthesise,
)
from assistant.train.espeak import espeak
from assistant.train.formant import VARIANTS, Formant
from assistant.train.recordings import rebuild, speak
from assistant.train.sentences import Writer, _one_off, lines, near_misses, number, talk
from assistant.train.speakers import MARGIN, Kokoro, Speaker, phonemes

VOICES = ["af_bella", "af_sky", "am_adam", "bf_lily", "jf_alpha"]


class Hum(Kokoro):
    """Hums for as long as the text has letters; remembers what it was given."""

    def __init__(self) -> None:
        self._styles = dict.fromkeys(VOICES, np.zeros((1, 1), np.float32))
        self.asked: list[tuple[str, Speaker, float]] = []

    def say(self, text: str, who: Speaker, speed: float) -> np.ndarray:
        self.asked.append((text, who, speed))
        return np.full(10 * len(text), len(self.asked), np.int16)


def test_clips_come_back_as_they_were_written_and_can_be_added_to(tmp_path: Path) -> None:
    """The bytes are those the description names: little-endian 16 bits, clip after clip."""
    for start, sound in ((0, [1, -2, 300]), (3, [-32768, 32767])):
        CorpusWriter(tmp_path).add(np.array(sound, np.int16), "an4", "ann", "people", ["one", "half"])
        assert read_clips(tmp_path)[-1] == Clip(start, len(sound), "an4", "ann", "people", ("one", "half"))
    assert (tmp_path / "audio.i2").read_bytes() == struct.pack("<5h", 1, -2, 300, -32768, 32767)
    assert read_audio(tmp_path).tolist() == [1, -2, 300, -32768, 32767]


def test_people_are_those_whose_every_word_can_be_said(tmp_path: Path) -> None:
    """By hand: letters are spelled but for a and i, apostrophes stay or go, noise and unknown words are passed over."""
    known = {word: [("X",)] for word in ("g.", "two", "don't", "dog", "a", "three")}
    rows = [
        ("an4/1.wav", "ann", "G two"), ("noise_floor/2.wav", "-", "two"), ("lj/3.wav", "lj", "don't 'dog' A"),
        ("an4/4.wav", "bob", "two zebra"), ("ls/5.wav", "cat", ""), ("ls/6.wav", "dan", ""),
    ]  # fmt: skip
    for name, *_ in rows:
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    manifest = ["path\tspeaker\ttext", *("\t".join(row) for row in rows)]
    (tmp_path / "manifest.tsv").write_text("\n".join(manifest) + "\n", encoding="utf-8")
    (tmp_path / "machine_text.tsv").write_text("path\ttext\n5.wav\tThree, two!\n", encoding="utf-8")
    assert [(file.name, *rest) for file, *rest in people(tmp_path, known)] == [
        ("1.wav", "an4", "ann", ("g.", "two")),
        ("3.wav", "lj", "lj", ("don't", "dog", "a")),
        ("5.wav", "ls", "cat", ("three", "two")),
    ]
    (tmp_path / "machine_text.tsv").unlink()
    assert [file.name for file, *_ in people(tmp_path, known)] == ["1.wav", "3.wav"], "texts by a machine are no must"


def test_noises_are_the_folders_of_that_name(tmp_path: Path) -> None:
    for folder, value in (("noise_a", 5), ("noise_b", 7), ("speech", 9)):
        (tmp_path / folder).mkdir()
        soundfile.write(tmp_path / folder / "x.ogg", np.full(1600, value, np.int16), 16000)
    assert [len(each) for each in noises(tmp_path)] == [1600, 1600]


def writer() -> Writer:
    return Writer(["the weather is fine today"], {"pull": ["bull"], "three": ["tree", "free"]}, ["window", "garden"])


def test_what_is_synthesised_is_what_is_written_down(tmp_path: Path) -> None:
    hum = Hum()
    synthesise(CorpusWriter(tmp_path), hum, writer(), Random(3), 40)
    clips, at = read_clips(tmp_path), 0
    assert len(clips) == len(hum.asked) == 40
    for each, (text, who, speed) in zip(clips, hum.asked, strict=True):
        assert (each.start, each.size, each.source, each.speaker) == (at, 10 * len(text), "synthetic", who.name)
        assert each.words == tuple(re.sub("[.,]", "", text.lower()).split())
        assert SLOWEST <= speed <= FASTEST
        at += each.size
    assert len({who for _, who, _ in hum.asked}) > 10
    again = Hum()
    synthesise(CorpusWriter(tmp_path / "again"), again, writer(), Random(3), 40)
    assert again.asked == hum.asked, "the seed decides"


def test_only_who_says_words_of_ours_has_an_accent(tmp_path: Path) -> None:
    """With an accent a near-miss can be the word it is near to: the kinds are written here by hand."""
    hum, accents = Hum(), dict[str, list[bool]]()
    synthesise(CorpusWriter(tmp_path), hum, writer(), Random(3), 300, accents=1.0)
    for each, (_, who, _) in zip(read_clips(tmp_path), hum.asked, strict=True):
        accents.setdefault(each.kind, []).append(who.accent != ())
    assert {kind for kind, some in accents.items() if sum(some) > 0.9 * len(some)} == {"task", "words"}
    assert {kind for kind, some in accents.items() if not any(some)} == {"talk", "text", "near"}


class Buzz(Formant):
    """As long as its text."""

    def __init__(self) -> None:
        pass

    def say(self, text: str, dice: Random) -> tuple[str, np.ndarray]:
        return "en-us+m1", np.full(len(text), dice.randint(1, 9), np.int16)


def test_a_voice_whose_time_is_over_begins_no_clip(tmp_path: Path) -> None:
    synthesise(CorpusWriter(tmp_path), Hum(), writer(), Random(3), 40, seconds=0.0)
    assert read_clips(tmp_path) == []


def test_formant_voices_speak_all_but_ordinary_text(tmp_path: Path) -> None:
    add_formant(CorpusWriter(tmp_path), Buzz(), writer(), Random(3), 30)
    clips = read_clips(tmp_path)
    assert len(clips) == 30
    assert {each.kind for each in clips} <= {"task", "words", "talk", "near"}
    assert {each.speaker for each in clips} == {"espeak:en-us+m1"}
    assert all(each.size == len(" ".join(each.words)) for each in clips)


def test_the_real_formant_voice_is_heard_as_what_it_says() -> None:
    """By its level and length only: speech of a few tenths of a second, at 0.7 of full scale."""
    name, sound = Formant().say("three eighths", Random(1))
    assert name.partition("+")[2] in VARIANTS
    assert np.abs(sound).max() == pytest.approx(0.7 * 32767, rel=0.01)
    assert 0.5 < len(sound) / 16000 < 2.5


def test_sentences_are_of_the_kind_they_say() -> None:
    """A task is a sentence of an ask or a number of the grammars' words; a near-miss has a word of its own."""
    dice, drawn, mine = Random(5), Counter[str](), writer()
    outside = {"bull", "tree", "free", "carpet", "window", "garden"}
    for _ in range(3000):
        kind, text = mine.sentence(dice)
        drawn[kind] += 1
        if kind in ("task", "words"):
            assert set(text.split()) <= vocabulary(), text
        elif kind == "talk":
            assert text in talk()
        elif kind == "text":
            assert text == "the weather is fine today" or set(text.split()) <= outside
        else:
            assert kind == "near"
            assert set(text.split()) <= vocabulary() | outside
    share = {kind: count / 3000 for kind, count in drawn.items()}
    wanted = {"task": 0.52, "words": 0.05, "text": 0.17, "talk": 0.06, "near": 0.20}
    assert share == pytest.approx(wanted, abs=0.03)


def test_most_tasks_can_be_said_at_some_ask() -> None:
    """The rest are numbers no ask wants: they teach the words, not the sentences."""
    dice, mine = Random(6), writer()
    grammars = [grammar(ask) for ask in asks()]
    told = [mine.task(dice) for _ in range(80)]
    assert sum(any(understand(text, each) for each in grammars) for text in told) > 45


def test_numbers_use_every_number_word() -> None:
    dice, said = Random(1), set[str]()
    for _ in range(4000):
        said |= set(number(dice).split())
    assert said <= vocabulary()
    assert {"zero", "nine", "nineteen", "ninety", "hundred", "sixteenths", "eighth", "half", "quarters"} <= said


def test_a_command_alone_is_short_or_an_attention_word() -> None:
    dice, mine = Random(3), writer()
    told = Counter(mine.command(dice) for _ in range(1500))
    attention = {sample(grammar(ATTENTION), dice) for _ in range(100)}
    assert {"yes", "no", "hooked", "skip"} <= set(told)
    assert attention <= set(told)
    assert sum(count for text, count in told.items() if len(text.split()) <= 2 or text in attention) > 1200


def test_who_speaks_slowly_often_hesitates() -> None:
    dice, mine = Random(4), writer()
    made = [drawn(mine, dice) for _ in range(1500)]
    slow, other = ([each for each in made if (each[3] < SLOW) == wanted] for wanted in (True, False))
    assert len(slow) / len(made) == pytest.approx(SLOW_SHARE, abs=0.05)
    pauses = [sum("," in text for _, _, text, _ in some) / len(some) for some in (slow, other)]
    assert pauses[0] > 2 * pauses[1]


def test_a_breath_is_of_one_kind_and_about_as_long_as_asked() -> None:
    dice, mine = Random(7), writer()
    for _ in range(50):
        kind, told = mine.breath(dice, BREATH[1], len)
        assert sum(map(len, told)) >= BREATH[1] > sum(map(len, told[:-1]))
        if kind == "talk":
            assert set(told) <= {*talk()}
    assert len(mine.breath(dice, 1, len)[1]) == 1


def distance(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    """Levenshtein's, textbook: a table of rows."""
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        row, above = [i], row
        for j, b in enumerate(other, 1):
            row.append(min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (a != b)))
    return row[-1]


def test_near_misses_are_one_phone_away_and_no_words_of_ours() -> None:
    dice = Random(8)
    some = [tuple(dice.choice("AB") for _ in range(dice.randint(1, 4))) for _ in range(300)]
    for one, other in zip(some, some[1:] + some[:1], strict=True):
        if one != other:
            assert _one_off(one, other) is (distance(one, other) == 1), (one, other)
    assert lexicon()["yes"] == (("Y", "EH", "S"),)
    table = {
        "mess": [("M", "EH", "S")], "yet": [("Y", "EH", "T")], "yest": [("Y", "EH", "S", "T")],
        "window": [("W", "IH", "N", "D", "OW")], "yesse": [("Y", "EH", "S")], "no": [("N", "EH", "S")],
    }  # fmt: skip
    assert near_misses(table, {"yet": 9, "yest": 3})["yes"] == ["yet", "yest", "mess"]


def test_lines_are_cut_from_running_text_and_unknown_words_take_theirs_away() -> None:
    text = [["a"] * 30, ["b", "zorb"] * 5]
    made = lines(text, {"a", "b"}, Random(1))
    assert made and all(2 <= len(line.split()) <= 8 and set(line.split()) == {"a"} for line in made)
    assert sum(len(line.split()) for line in made) >= 29


def test_phonemes_are_espeak_ngs_in_the_synthesisers_signs() -> None:
    """Spelled out by hand after Kokoro's table (misaki, from memory): diphthongs are one capital, no tie bars."""
    assert phonemes("eight", british=False) == "ˈAt"
    assert phonemes("five", british=True) == "fˈIv"
    assert phonemes("no", british=False) == "nˈO"
    assert phonemes("no", british=True) == "nˈQ"
    assert phonemes("chair", british=False).startswith("ʧ")


def test_espeak_ng_is_started_once_a_process() -> None:
    """A start sets 175 words a minute; after a second one it would read phonemes where they no longer are."""
    espeak().espeak_SetParameter(1, 333, 0)
    phonemes("started once", british=False)
    Formant()
    assert espeak().espeak_GetParameter(1, 1) == 333


def test_a_voice_blends_its_styles_and_is_trimmed_to_its_margin(tmp_path: Path) -> None:
    """A synthesiser that puts a tone between long silences; the style is the weighted sum for the text's length."""
    voice = object.__new__(Kokoro)
    asked: list[dict[str, np.ndarray]] = []

    def tone(inputs: dict[str, np.ndarray]) -> np.ndarray:
        asked.append(inputs)
        sound = np.zeros(72000, np.float32)
        sound[24000:48000] = 0.1 * np.sin(2 * np.pi * 300 * np.arange(24000) / 24000)
        return sound

    voice._speak = tone
    voice._symbols = {"n": 3, "O": 4, "ˈ": 5}
    voice._styles = {"a": np.arange(20.0).reshape(10, 2), "b": np.ones((10, 2))}
    made = voice.say("no", Speaker((("a", 1.5), ("b", -0.5)), british=False), 1.2)
    assert asked[0]["tokens"].tolist() == [[0, 3, 5, 4, 0]]
    assert asked[0]["style"].tolist() == [[1.5 * 6 - 0.5, 1.5 * 7 - 0.5]]
    assert asked[0]["speed"].tolist() == pytest.approx([1.2])
    assert made.dtype == np.int16 and np.abs(made).max() == pytest.approx(0.7 * 32767, abs=2)
    assert len(made) == pytest.approx(16000 + 2 * MARGIN, abs=40)


class Ready:
    """A process that is never asked."""


def item(folder: Path, voice: str) -> Item:
    return Item(folder / "x.ogg", "pull", "three eighths", "none", voice, 5, "task")


def test_a_recording_is_its_seed_between_stillness(tmp_path: Path) -> None:
    hum = Hum()
    sound = speak(item(tmp_path, "af_sky"), hum, Ready())
    assert len(sound) == 10 * len("three eighths") + round(0.7 * 16000)
    assert 0 < np.abs(sound[:4000]).max() < 0.002, "a hiss, never digital silence"
    assert np.array_equal(sound, speak(item(tmp_path, "af_sky"), Hum(), Ready()))
    assert asdict(hum.asked[0][1]) == {"blend": (("af_sky", 1.0),), "british": False, "melody": (), "accent": ()}
    assert speak(item(tmp_path, "bf_lily"), hum, Ready()) is not None and hum.asked[1][1].british


def test_the_demos_recordings_are_made_line_by_line(tmp_path: Path) -> None:
    head = "file\ttext\tvoice\tspeed\tnoise\tsnr_db\tseed"
    rows = "1.ogg\tyes\taf_sky\t1.1\t\t\t4\n2.ogg\tthree eighths please\tbf_lily\t0.9\tpink\t10\t5"
    (tmp_path / "playlist.tsv").write_text(f"{head}\n{rows}\n", encoding="utf-8")
    hum = Hum()
    rebuild(tmp_path, hum)
    assert [(text, speed) for text, _, speed in hum.asked] == [("yes", 1.1), ("three eighths please", 0.9)]
    for name in ("1.ogg", "2.ogg"):
        _, rate = soundfile.read(tmp_path / name)
        assert rate == 16000
