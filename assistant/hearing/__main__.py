"""`python -m assistant.hearing`: what is fitted and checked when grammars or model change.

fit         the calibration of what is heard -> assistant/speech/trust.toml, and its page; with --second-ear that of two
            ears -> trust_two_ears.toml
confusable  the report on phrases that sound alike
second-ear  what the second ear buys on the evaluation's recordings: its page
people      a manifest of recorded people, from open recordings that are not in the project: for `pullcall evaluate`
many-people the same of others, for `fit`
background  commands taken that nobody gave, in hours of noise, radio and talk: its page
"""

import argparse
import os
import sys
from pathlib import Path

from assistant.exits import Refusal
from assistant.hearing.confusable import SAMPLED

OUT = Path("docs/hearing")


def _fit(given: argparse.Namespace) -> None:
    from assistant.hearing.fit import BOTH_COST, fit, reliability
    from assistant.hearing.fit_page import FILES, FILES_OF_TWO, fit_page, reliability_plot, trust_toml
    from assistant.hearing.manifest import read_manifest
    from assistant.hearing.sound import conditions
    from assistant.hearing.trial import Engine, run
    from assistant.shelf import model_folder
    from assistant.speech import trust, two_ears
    from assistant.speech.second_ear import weights_sum

    folder, two = given.model or model_folder(), given.second_ear
    items = [item for each in given.devsets for item in read_manifest(each)[: given.limit]]
    under = conditions(given.noise, given.snr)
    outcomes = run(Engine("unjudged two ears" if two else "unjudged", given.model), items, under, _tell)
    source = f"{len(items)} recordings under {', '.join(map(str, under))}"
    if two:
        outcomes = [each for each in outcomes if each.traits.keys() >= {*two_ears.NAMES}]
        source += f", of which both ears chose about {len(outcomes)}"
        fitted = fit(outcomes, two_ears.both_sums(folder, weights_sum()), two_ears.NAMES, BOTH_COST)
    else:
        fitted = fit(outcomes, trust.acoustic_sum(folder))
    file = two_ears.FILE if two else trust.FILE
    page, plot = (given.out / name for name in (FILES_OF_TWO if two else FILES))
    given.out.mkdir(parents=True, exist_ok=True)
    page.write_text(fit_page(fitted, outcomes, source, two=two), encoding="utf-8")
    plot.write_text(reliability_plot(reliability(fitted.foretold, fitted.right)), encoding="utf-8")
    file.write_text(trust_toml(fitted.trust), encoding="utf-8")
    print(
        f"log loss {fitted.log_loss:.4f}, without traits {fitted.base_log_loss:.4f}; wrote {file.name} and {given.out}"
    )


def _tell(done: int, whole: int) -> None:
    print(f"\r{done} of {whole} heard", end="\n" if done == whole else "", file=sys.stderr, flush=True)


def _confusable(given: argparse.Namespace) -> None:
    from assistant.hearing.confusable_page import confusable_page

    given.out.mkdir(parents=True, exist_ok=True)
    (given.out / "confusable.md").write_text(confusable_page(given.sampled), encoding="utf-8")


def _second_ear(given: argparse.Namespace) -> None:
    from assistant.hearing.engines import open_two_ears
    from assistant.hearing.manifest import read_manifest
    from assistant.hearing.page import shown
    from assistant.hearing.second_ear import listen_twice
    from assistant.hearing.second_ear_page import costs_table, gains_table, second_ear_page
    from assistant.hearing.sound import conditions
    from assistant.shelf import recordings_folder
    from assistant.speech.ears import VoskEars

    one, (two, second) = VoskEars(), open_two_ears()
    files = given.manifests or [recordings_folder() / "evaluation" / "manifest.tsv"]
    items = [item for file in files for item in read_manifest(file)[: given.limit]]
    found = listen_twice(one, two, second.took, items, conditions(given.noise, given.snr), _tell)
    print(f"{gains_table(found)}\n\n{costs_table(found)}")
    given.out.mkdir(parents=True, exist_ok=True)
    command = " ".join(["python -m assistant.hearing second-ear", *map(shown, given.manifests)])
    page = second_ear_page(found, command, (one.name, second.name), os.getloadavg()[0])
    (given.out / "second-ear.md").write_text(page, encoding="utf-8")


def _background(given: argparse.Namespace) -> None:
    from assistant.hearing.background import background, evaluation_talk
    from assistant.hearing.background_listening import MANNERS, Found
    from assistant.hearing.background_page import background_page, summary
    from assistant.hearing.engines import open_ours

    talk, ears = evaluation_talk(), open_ours(given.model, two=given.second_ear).name
    given.out.mkdir(parents=True, exist_ok=True)
    command = f"python -m assistant.hearing background --hours {given.hours:g} --seed {given.seed}"
    command += " --second-ear" if given.second_ear else ""
    manners = [each for name, each in zip(("open", "word"), MANNERS, strict=True) if given.manner in (name, "both")]
    if len(manners) < len(MANNERS):
        command += f" --manner {given.manner}"

    def tell(done: int, whole: int, found: Found) -> None:
        page = background_page(found, talk, command, ears)
        (given.out / "background.md").write_text(page, encoding="utf-8")
        _tell(done, whole)

    found = background(given.hours, given.seed, given.model, talk, tell, manners, two=given.second_ear)
    print(summary(found))


def _people(given: argparse.Namespace) -> None:
    from assistant.hearing.people import people

    print(f"{people(given.digits, given.prompts, given.out)} recordings in {given.out}")


def _many_people(given: argparse.Namespace) -> None:
    from assistant.hearing.people import many_people

    print(f"{many_people(given.words, given.out)} recordings in {given.out}")


def _hours(told: str) -> float:
    hours = float(told)
    if not 0 < hours < float("inf"):
        raise argparse.ArgumentTypeError(f"{told} hours: give more than 0")
    return hours


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m assistant.hearing", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)  # fmt: skip
    commands = parser.add_subparsers(required=True, metavar="command")
    made = commands.add_parser("fit")
    made.set_defaults(run=_fit)
    made.add_argument(
        "devsets", nargs="+", type=Path, help="manifest.tsv of development recordings, never the evaluation's"
    )
    made.add_argument("--second-ear", action="store_true", help="of two ears, after that of one")
    made.add_argument("--model", type=Path, help="model folder (default: the one that ships)")
    made.add_argument("--noise", nargs="*", default=["pink"])
    made.add_argument("--snr", nargs="+", type=float, default=[20.0, 10.0, 5.0])
    made.add_argument("--limit", type=int)
    made.add_argument("--out", type=Path, default=OUT)
    made = commands.add_parser("confusable")
    made.set_defaults(run=_confusable)
    made.add_argument("--sampled", type=int, default=SAMPLED, help="sentences drawn for each ask")
    made.add_argument("--out", type=Path, default=OUT)
    made = commands.add_parser("second-ear")
    made.set_defaults(run=_second_ear)
    made.add_argument("manifests", nargs="*", type=Path, help="manifest.tsv of recordings (default: the evaluation's)")
    made.add_argument("--noise", nargs="*", default=["pink"])
    made.add_argument("--snr", nargs="+", type=float, default=[10.0])
    made.add_argument("--limit", type=int)
    made.add_argument("--out", type=Path, default=OUT)
    made = commands.add_parser("people")
    made.set_defaults(run=_people)
    made.add_argument("--digits", type=Path, required=True, help="recordings/ of the Free Spoken Digit Dataset")
    made.add_argument("--prompts", type=Path, required=True, help="prompts of one speaker as WAV, numbers in digits/")
    made.add_argument("--out", type=Path, required=True)
    made = commands.add_parser("many-people")
    made.set_defaults(run=_many_people)
    made.add_argument(
        "--words", type=Path, required=True, help="Speech Commands: WORD/*.wav, single words of many people"
    )
    made.add_argument("--out", type=Path, required=True)
    made = commands.add_parser("background")
    made.set_defaults(run=_background)
    made.add_argument("--hours", type=_hours, default=30.0, help="of sound, in equal thirds (default: 30)")
    made.add_argument("--seed", type=int, default=1, help="another number is another background")
    made.add_argument("--second-ear", action="store_true", help="by two ears")
    made.add_argument("--manner", choices=("open", "word", "both"), default="both",
                      help="ears that are always open, or behind the attention word (default: both)")  # fmt: skip
    made.add_argument("--model", type=Path, help="model folder (default: the one that ships)")
    made.add_argument("--out", type=Path, default=OUT)
    return parser


if __name__ == "__main__":
    given = _parser().parse_args()
    try:
        given.run(given)
    except Refusal as refusal:
        sys.exit(f"hearing: {refusal.line}")
