"""`pullcall evaluate`: how well an engine hears the recordings of a manifest."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.hearing.engines import open_engine
from assistant.hearing.manifest import Item, read_manifest
from assistant.hearing.outcome import Outcome, compare
from assistant.hearing.page import Results, conditions_table, grouped, page, shown
from assistant.hearing.pictures import pictures
from assistant.hearing.sound import Condition, conditions
from assistant.hearing.trial import Engine, run
from assistant.shelf import recordings_folder


def evaluate(options: argparse.Namespace) -> Exit:
    """Listen, print the table, write the page. Raises Refusal."""
    if options.against_model and not options.against:
        told = "nobody listens with it; add --against ours, two-ears or vosk"
        raise Refusal(Exit.USAGE, f"--against-model {options.against_model}: {told}")
    items = _items(options)
    under = conditions(options.noise, options.snr)
    engine = Engine(options.engine, options.model, options.whole)
    other = Engine(options.against, options.against_model, options.whole) if options.against else None
    if other:
        open_engine(other.name, other.model, whole=other.whole)  # here first: what it refuses is told at once
    outcomes = run(engine, items, under, _teller(engine.label))
    print(conditions_table(outcomes))
    results = Results(engine.label, outcomes, _command(options))
    if other:
        results = _with_other(results, other, items, under)
    if options.out:
        write(results, under, options.out)
    return Exit.DONE


def _items(options: argparse.Namespace) -> list[Item]:
    if options.limit is not None and options.limit < 1:
        raise Refusal(Exit.USAGE, f"--limit {options.limit}: must be 1 or more")
    files = options.manifests or [recordings_folder() / "evaluation" / "manifest.tsv"]
    return [item for file in files for item in read_manifest(file)[: options.limit]]


def _with_other(results: Results, other: Engine, items: Sequence[Item], under: Sequence[Condition]) -> Results:
    others = run(other, items, under, _teller(other.label))
    label = other.label if other.label != results.engine else f"{other.label} (the other)"
    first, second = (grouped(each, lambda one: one.condition) for each in (results.outcomes, others))
    differences = tuple((name, compare(first[name], second[name])) for name in first)
    print(f"\n{label}:\n{conditions_table(others)}")
    for name, found in differences:
        print(
            f"{name}: only {results.engine} right {found.only_first}, "
            f"only {label} right {found.only_second}, p {found.p:.2g}"
        )
    return Results(results.engine, results.outcomes, results.command, label, others, differences)


def _command(options: argparse.Namespace) -> str:
    parts = ["pullcall evaluate", *map(shown, options.manifests), f"--engine {options.engine}"]
    named = {
        "--model": options.model,
        "--against": options.against,
        "--against-model": options.against_model,
        "--limit": options.limit,
    }
    parts += [f"{name} {getattr(value, 'name', value)}" for name, value in named.items() if value is not None]
    parts += ["--whole"] if options.whole else []
    parts.append(f"--noise {' '.join(options.noise)} --snr {' '.join(f'{each:g}' for each in options.snr)}")
    return " ".join(parts)


def _teller(name: str):  # type: ignore[no-untyped-def]
    def tell(done: int, whole: int) -> None:
        end = "\n" if done == whole else ""
        print(f"\r{name}: {done} of {whole} heard", end=end, file=sys.stderr, flush=True)

    return tell


def write(results: Results, under: Sequence[Condition], folder: Path) -> None:
    """The page, its pictures and every outcome. Raises Refusal (NOT_WRITABLE)."""
    files = {"results.md": page(results), **pictures(results, under)}
    files["outcomes.tsv"] = outcomes_table({results.engine: results.outcomes, results.against: results.others})
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            (folder / name).write_text(text, encoding="utf-8")
    except OSError as error:
        raise Refusal(
            Exit.NOT_WRITABLE, f"{folder}: cannot be written ({error.strerror}); name another --out"
        ) from None


def outcomes_table(by_engine: dict[str, Sequence[Outcome]]) -> str:
    """Every outcome of every engine, tab-separated."""
    lines = ["engine\tcondition\tfile\task\tmeaning\theard\tunderstood\tscore\tlate_s"]
    for engine, outcomes in by_engine.items():
        for each in outcomes:
            late = "" if each.late_s is None else f"{each.late_s:.3f}"
            cells = (
                engine,
                each.condition,
                each.item.file.name,
                each.item.ask,
                each.item.meaning,
                each.text,
                each.meaning,
                f"{each.score:.4f}",
                late,
            )
            lines.append("\t".join(cells))
    return "\n".join(lines) + "\n"
