"""The README's two commands: make .venv from the lock, then run the demo or the tests. Standard library only.

    python3 assistant/bootstrap.py demo [options of pullcall demo]
    python3 assistant/bootstrap.py test [options of pytest]

Works without python3-venv and without root: the virtual environment is made without pip, and the pip of the Python that
runs this file fills it. The source tree itself is not built or copied: a .pth file makes it importable, and a small
`pullcall` command is written beside the environment's python.
"""

from __future__ import annotations

import sys

# Running a file puts its folder first on the path; our modules must never hide one of the standard library.
if sys.path and sys.path[0].rstrip("/\\").endswith("assistant"):
    del sys.path[0]

import hashlib
import os
import re
import shutil
import subprocess
from pathlib import Path

TREE = Path(__file__).resolve().parent.parent
LOCK = TREE / ".requirements.lock"
VENV = TREE / ".venv"
STAMP = VENV / "pullcall-stamp"
LOG = VENV / "pullcall-setup.log"
WINDOWS = os.name == "nt"
BIN = VENV / ("Scripts" if WINDOWS else "bin")
PYTHON = BIN / ("python.exe" if WINDOWS else "python")
START = "import sys; from assistant.cli import main; sys.exit(main())"
LEAST_PYTHON = (3, 11)
LEAST_PIP = (22, 3)
"""The first pip that fills another environment (--python)."""


class SetUpError(Exception):
    """One line for the user."""


def main(arguments: list[str]) -> int:
    """Set up if need be, run what was asked for, and return its exit code; 2 = wrong call, 1 = no set-up."""
    if not arguments or arguments[0] not in ("demo", "test"):
        _say("say what to run: python3 assistant/bootstrap.py demo | test")
        return 2
    try:
        check_python((sys.version_info.major, sys.version_info.minor))
        set_up()
    except SetUpError as error:
        _say(str(error))
        return 1
    except OSError as error:
        _say(f"set-up stopped: {error}")
        return 1
    return subprocess.call(command(*arguments), cwd=None if arguments[0] == "demo" else str(TREE))


def command(what: str, *options: str) -> list[str]:
    """The command line for `what`; the whole test run also holds the core to its coverage."""
    if what == "demo":
        return [str(PYTHON), "-c", START, "demo", *options]
    return [str(PYTHON), "-m", "pytest", *(options or ["--cov"])]


def check_python(version: tuple[int, int]) -> None:
    """Raise SetUpError where `version`, (major, minor), is too old."""
    if version < LEAST_PYTHON:
        raise SetUpError("Python {}.{} or newer is needed, this is {}.{}".format(*LEAST_PYTHON, *version))


def set_up() -> None:
    """Make .venv from the lock unless it already is what the lock says."""
    stamp = wanted_stamp()
    if STAMP.is_file() and STAMP.read_text(encoding="utf-8") == stamp and PYTHON.exists():
        return
    if VENV.exists() and not STAMP.exists():
        raise SetUpError(f"{VENV} was not made by this command: move it away and call again")
    _say("setting up .venv from .requirements.lock; the first time takes a minute or two and needs the network")
    make_venv()
    pip = find_pip()
    # One locked package ships as source only; with its builder installed first nothing outside the lock is fetched.
    builder = VENV / "builder.lock"
    builder.write_text(block_of("setuptools", LOCK.read_text(encoding="utf-8")), encoding="utf-8")
    for lock in (builder, LOCK):
        install(pip, lock)
    link_tree()
    STAMP.write_text(stamp, encoding="utf-8")


def wanted_stamp() -> str:
    """What the environment depends on: the lock, the Python, the place of the tree."""
    said = f"{sys.version}\n{TREE}\n".encode() + LOCK.read_bytes() + Path(__file__).read_bytes()
    return hashlib.sha256(said).hexdigest()


def make_venv() -> None:
    """An empty environment in place of an older one; marked unfinished until the stamp is right."""
    try:
        import venv
    except ImportError:
        raise SetUpError("this Python has no venv module: install a full Python (Debian: python3-venv)") from None
    if VENV.exists():
        shutil.rmtree(str(VENV))
    VENV.mkdir()
    STAMP.write_text("unfinished", encoding="utf-8")
    venv.EnvBuilder(with_pip=False, symlinks=not WINDOWS).create(str(VENV))


def find_pip() -> list[str]:
    """The start of a pip command line that fills .venv: this Python's pip, else one unpacked into .venv."""
    found = _run([sys.executable, "-m", "pip", "--version"])
    version = re.match(r"pip (\d+)\.(\d+)", found.stdout)
    if found.returncode == 0 and version and tuple(map(int, version.groups())) >= LEAST_PIP:
        return [sys.executable, "-m", "pip", "--python", str(PYTHON)]
    if _run([str(PYTHON), "-m", "ensurepip"]).returncode == 0:
        return [str(PYTHON), "-m", "pip"]
    raise SetUpError("this Python has no pip from 22.3 on: install one (Debian, Ubuntu: apt install python3-pip)")


def install(pip: list[str], lock: Path) -> None:
    """Install exactly what `lock` lists, checked by hash; its list is whole, so nothing is resolved."""
    options = ["--require-hashes", "--no-deps", "--no-build-isolation", "--use-pep517"]
    done = _run([*pip, "install", "--disable-pip-version-check", *options, "-r", str(lock)])
    with LOG.open("a", encoding="utf-8") as log:
        log.write(done.stdout)
    if done.returncode:
        errors = [line for line in done.stdout.splitlines() if line.startswith("ERROR")] or ["no word from pip"]
        raise SetUpError(f"packages cannot be installed ({errors[0]}); is there a network? All of it: {LOG}")


def block_of(name: str, lock: str) -> str:
    """The lines of `lock` that pin `name`, hashes included; '' where it is not listed."""
    found = re.search(rf"^{re.escape(name)}==.*\n(?:[ \t].*\n)*", lock, re.MULTILINE)
    return found.group() if found else ""


def link_tree() -> None:
    """Make the tree importable in .venv and write the pullcall command."""
    library = next(VENV.glob("Lib/site-packages" if WINDOWS else "lib/python*/site-packages"))
    library.joinpath("pullcall.pth").write_text(f"{TREE}\n", encoding="utf-8")
    if WINDOWS:
        BIN.joinpath("pullcall.cmd").write_text(f'@"%~dp0python.exe" -c "{START}" %*\r\n', encoding="utf-8")
        return
    script = BIN / "pullcall"
    script.write_text(f'#!/bin/sh\nexec "$(dirname "$0")/python" -c "{START}" "$@"\n', encoding="utf-8")
    script.chmod(0o755)


def _run(arguments: list[str]) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PIP_USER": "0"}
    return subprocess.run(
        arguments, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8", errors="replace"
    )


def _say(line: str) -> None:
    print(f"pullcall: {line}", file=sys.stderr)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
