"""`python -m assistant.train`: make a speech model. Build time only.

synthesise  random sentences by synthetic speakers -> corpus folder
people      recorded people -> corpus folder
align       times of the phones in a corpus folder
train       corpus folder -> checkpoint
pack        checkpoint -> am/final.mdl of a model folder (then: python -m assistant.train.graph FOLDER)
evaluate    a model folder on a development corpus
"""

import argparse
from pathlib import Path
from random import Random

import numpy as np


def _synthesise(given: argparse.Namespace) -> None:
    from assistant.train.align import dictionary
    from assistant.train.corpus import CorpusWriter, synthesise
    from assistant.train.sentences import Writer, near_misses, talk
    from assistant.train.speakers import Kokoro

    text = given.text.read_text(encoding="utf-8").splitlines() if given.text else talk()
    writer = Writer(text, near_misses(dictionary(), {}))
    voice = Kokoro(given.kokoro, given.symbols, given.voices)
    synthesise(CorpusWriter(given.corpus), voice, writer, Random(given.seed), given.clips)


def _people(given: argparse.Namespace) -> None:
    from assistant.train.align import dictionary
    from assistant.train.corpus import CorpusWriter, add_people

    print(add_people(CorpusWriter(given.corpus), given.folder, dictionary()), "clips")


def _align(given: argparse.Namespace) -> None:
    from assistant.train.align import align_corpus

    print(align_corpus(given.corpus), "clips did not fit their text")


def _train(given: argparse.Namespace) -> None:
    import torch

    from assistant.train.lexicon import Phones
    from assistant.train.run import Material, Plan, run

    torch.manual_seed(given.seed)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    material = Material(given.corpus, Phones(given.phones), given.speech_data, device)
    share = 1.0 if device.type == "cuda" else 0.25
    plan = Plan(given.cross_entropy_s, given.mmi_s, given.cross_entropy_rate, given.mmi_rate, share)
    run(material, plan, given.checkpoint, given.start)


def _pack(given: argparse.Namespace) -> None:
    from assistant.train.kaldi import read_transitions
    from assistant.train.pack import write_model

    file = given.model / "am" / "final.mdl"
    with np.load(given.checkpoint) as weights:
        write_model({name: weights[name] for name in weights.files if weights[name].ndim}, read_transitions(file), file,
                    given.scale)  # fmt: skip


def _evaluate(given: argparse.Namespace) -> None:
    from assistant.train.evaluate_dev import Condition, evaluate

    conditions = [Condition(), *(Condition(each) for each in given.noise)]
    for condition, tally in evaluate(given.model, given.corpus, conditions):
        print(f"{condition}: {tally}")


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
    made.add_argument("--seed", type=int, default=1)
    command("people", _people, corpus=True, folder=True)
    command("align", _align, corpus=True)
    made = command("train", _train, corpus=True, phones=True, speech_data=True, checkpoint=True, start=False)
    for name, value in (("cross-entropy-s", 110.0), ("mmi-s", 175.0), ("cross-entropy-rate", 2e-3), ("mmi-rate", 6e-4)):
        made.add_argument(f"--{name}", type=float, default=value)
    made.add_argument("--seed", type=int, default=1)
    command("pack", _pack, checkpoint=True, model=True).add_argument("--scale", type=float, default=1.0)
    made = command("evaluate", _evaluate, corpus=True, model=True)
    made.add_argument("--noise", type=float, nargs="*", default=[20.0, 10.0, 5.0], metavar="dB")
    return parser


if __name__ == "__main__":
    given = _parser().parse_args()
    given.run(given)
