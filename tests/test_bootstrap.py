"""The README's two commands, run for real in a small tree of their own; only pip is a stand-in that notes its calls.

That the true lock installs is proven by .ci/run, which starts with the README's test command.
"""

import ast
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

BOOTSTRAP = Path(__file__).parent.parent / "assistant" / "bootstrap.py"
LOCK = """alpha==1.0 \\
    --hash=sha256:aa
    # via beta
setuptools==80.0 \\
    --hash=sha256:bb
zeta==2.0 \\
    --hash=sha256:cc
"""
PIP = """
import json, os, sys
if sys.argv[1:] == ["--version"]:
    print("pip {version} from here")
    raise SystemExit
lists = [open(each).read() for each in sys.argv if each.endswith(".lock")]
with open({calls!r}, "a") as calls:
    print(json.dumps([sys.argv[1:], lists, os.environ.get("PIP_USER")]), file=calls)
print({says!r})
raise SystemExit({code})
"""


class Tree:
    """A source tree with the true bootstrap and nothing else that is true."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "a tree"
        self.stand_ins = folder / "stand-ins"
        self.calls_file = folder / "calls"
        package = self.folder / "assistant"
        package.mkdir(parents=True)
        (package / "bootstrap.py").write_bytes(BOOTSTRAP.read_bytes())
        (package / "__init__.py").touch()
        (package / "re.py").write_text("raise RuntimeError('a module of ours hid one of the standard library')")
        (package / "cli.py").write_text(
            "import sys, os\ndef main():\n    print(sys.argv[1:], os.getcwd())\n    return 7\n"
        )
        self.folder.joinpath(".requirements.lock").write_text(LOCK)
        self.set_pip()

    def set_pip(self, version: str = "23.0.1", says: str = "", code: int = 0) -> None:
        self.stand_in("pip", PIP.format(version=version, calls=str(self.calls_file), says=says, code=code))

    def stand_in(self, name: str, text: str) -> None:
        """Put a package that runs `text` before the true one of that name."""
        package = self.stand_ins / name
        package.mkdir(parents=True, exist_ok=True)
        (package / "__init__.py").touch()
        (package / "__main__.py").write_text(text)

    def run(self, *arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, str(self.folder / "assistant" / "bootstrap.py"), *arguments],
            env={**os.environ, "PYTHONPATH": str(self.stand_ins)},
            cwd=cwd or self.folder,
            capture_output=True,
            text=True,
        )

    @property
    def calls(self) -> list[tuple[list[str], list[str], str]]:
        lines = self.calls_file.read_text().splitlines() if self.calls_file.exists() else []
        return [tuple(json.loads(line)) for line in lines]


@pytest.fixture
def tree(tmp_path: Path) -> Tree:
    return Tree(tmp_path)


def test_demo_runs_from_the_callers_folder_and_gives_back_its_exit_code(tree: Tree, tmp_path: Path) -> None:
    done = tree.run("demo", "--out", "here", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (7, f"['demo', '--out', 'here'] {tmp_path}\n")
    assert done.stderr.count("\n") == 1, "one line while it sets up"


def test_the_lock_is_installed_whole_by_hash_into_the_venv_and_the_builder_first(tree: Tree) -> None:
    tree.run("demo")
    (first, builder, user), (second, everything, _) = tree.calls
    for call in (first, second):
        assert {"--require-hashes", "--no-deps", "--no-build-isolation"} <= set(call)
        assert call[call.index("--python") + 1].startswith(str(tree.folder / ".venv"))
    assert builder == ["setuptools==80.0 \\\n    --hash=sha256:bb\n"]
    assert everything == [LOCK]
    assert user == "0"


def test_the_second_run_installs_nothing(tree: Tree) -> None:
    tree.run("demo")
    before = len(tree.calls)
    done = tree.run("demo")
    assert (done.returncode, done.stderr, len(tree.calls)) == (7, "", before)


def test_a_changed_lock_makes_the_environment_anew(tree: Tree) -> None:
    tree.run("demo")
    left_over = tree.folder / ".venv" / "left-over"
    left_over.touch()
    tree.folder.joinpath(".requirements.lock").write_text(LOCK.replace("2.0", "2.1"))
    assert tree.run("demo").returncode == 7
    assert not left_over.exists()
    assert "zeta==2.1" in tree.calls[-1][1][0]


def test_the_pullcall_command_works_from_any_folder(tree: Tree, tmp_path: Path) -> None:
    tree.run("demo")
    command = next((tree.folder / ".venv").glob("*/pullcall*"))
    done = subprocess.run([str(command), "plan", "a b"], cwd=tmp_path, capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (7, f"['plan', 'a b'] {tmp_path}\n")


def test_test_runs_pytest_in_the_tree_with_coverage_only_where_all_is_run(tree: Tree, tmp_path: Path) -> None:
    tree.stand_in("pytest", "import os, sys\nprint(sys.argv[1:], os.getcwd())\n")
    assert tree.run("test", cwd=tmp_path).stdout == f"['--cov'] {tree.folder}\n"
    assert tree.run("test", "tests/core", cwd=tmp_path).stdout == f"['tests/core'] {tree.folder}\n"


def test_a_failed_install_is_one_line_and_tried_again_next_time(tree: Tree) -> None:
    tree.set_pip(says="WARNING: retrying\nERROR: Could not find a version of alpha\nERROR: more", code=1)
    done = tree.run("demo")
    assert done.returncode == 1
    last = done.stderr.splitlines()[-1]
    assert "Could not find a version of alpha" in last
    assert "network" in last
    assert "Traceback" not in done.stderr
    assert "WARNING: retrying" in (tree.folder / ".venv" / "pullcall-setup.log").read_text()
    tree.set_pip()
    assert tree.run("demo").returncode == 7


@pytest.mark.parametrize("version", ["22.2.9", "9.0", "none"])
def test_an_old_or_missing_pip_is_replaced_by_the_one_python_carries(tree: Tree, version: str) -> None:
    tree.set_pip(version=version)
    tree.stand_in("ensurepip", "")
    assert tree.run("demo").returncode == 7
    assert all("--python" not in arguments for arguments, _, _ in tree.calls)


def test_without_any_pip_it_says_what_to_install(tree: Tree) -> None:
    tree.set_pip(version="21.0")
    tree.stand_in("ensurepip", "raise SystemExit('not here')")
    done = tree.run("demo")
    assert done.returncode == 1
    assert "apt install python3-pip" in done.stderr.splitlines()[-1]
    assert not tree.calls


def test_an_environment_of_somebody_else_is_left_alone(tree: Tree) -> None:
    theirs = tree.folder / ".venv" / "theirs"
    theirs.mkdir(parents=True)
    done = tree.run("demo")
    assert (done.returncode, theirs.exists()) == (1, True)
    assert "move it away" in done.stderr


@pytest.mark.parametrize("arguments", [(), ("demos",), ("--help",)])
def test_a_wrong_call_says_how_to_call(tree: Tree, arguments: tuple[str, ...]) -> None:
    done = tree.run(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert "demo | test" in done.stderr
    assert not (tree.folder / ".venv").exists()


def test_an_old_python_can_read_the_file_and_is_told_the_version(tree: Tree) -> None:
    source = BOOTSTRAP.read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 8))
    rewritten = re.sub(r"LEAST_PYTHON = .*", "LEAST_PYTHON = (4, 1)", source)
    (tree.folder / "assistant" / "bootstrap.py").write_text(rewritten, encoding="utf-8")
    done = tree.run("demo")
    assert done.returncode == 1
    assert done.stderr.startswith("pullcall: Python 4.1 or newer is needed, this is 3.")
    assert done.stderr.count("\n") == 1
