"""From a bare Python to a running program: make ``.venv``, install the locked requirements, run again in it.

Only the standard library is imported here, since this runs before anything is installed. Whatever reaches outside
(creating an environment, running pip, replacing the process) goes through ``Tools``, so that tests can watch it.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import subprocess
import sys
import venv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn, TextIO

ROOT = Path(__file__).resolve().parent.parent
OFF_SWITCH = "FINISH_LEDGER_NO_BOOTSTRAP"
# Set across the restart only: a second restart would mean that the new environment is not the one that was made.
RESTART_MARK = "FINISH_LEDGER_RESTARTED"
TEST_COMMANDS = frozenset({"test", "bench"})
SET_UP_COMMAND = "bootstrap"
USAGE_EXIT = 2
OLDEST_PYTHON = (3, 11)


class BootstrapError(Exception):
    """Set-up cannot go on; the text says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirements:
    """A lock file and the stamp that records, inside an environment, that it was installed."""

    lock: str
    stamp: str
    what: str


RUNTIME = Requirements(lock="requirements.lock", stamp="finish-ledger-runtime.stamp", what="what the program needs")
TEST = Requirements(lock="requirements-test.lock", stamp="finish-ledger-test.stamp", what="what the tests need")


class Tools:
    """The ways in which set-up touches the machine."""

    def can_make_environments(self) -> bool:
        """Debian and its relatives ship Python without the two modules that a new environment needs."""
        return all(importlib.util.find_spec(name) is not None for name in ("venv", "ensurepip"))

    def make_environment(self, folder: Path) -> None:
        """Create ``folder`` anew with pip in it. Raises ``OSError`` or ``CalledProcessError``."""
        venv.EnvBuilder(with_pip=True, clear=True, symlinks=os.name != "nt").create(folder)

    def run(self, command: Sequence[str]) -> tuple[int, str]:
        """Run a command to its end and return its exit code and what it printed."""
        done = subprocess.run(  # noqa: S603 - the command is built here, from our own paths
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace", check=False
        )
        return done.returncode, done.stdout

    def restart(self, command: Sequence[str], environ: Mapping[str, str]) -> NoReturn:
        """Go on as another process with the same terminal; its exit code becomes ours."""
        sys.stdout.flush()
        sys.stderr.flush()
        if os.name != "nt":
            os.execve(command[0], list(command), dict(environ))  # noqa: S606
        # Windows has no exec that keeps the console attached, so the child is waited for.
        with subprocess.Popen(command, env=dict(environ)) as child:  # noqa: S603
            while True:
                try:
                    sys.exit(child.wait())
                except KeyboardInterrupt:
                    continue  # the child got the same key press and decides when to end


def environment_python(folder: Path) -> Path:
    """Where the interpreter of a virtual environment lies."""
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def lock_stamp(root: Path, wanted: Requirements) -> str:
    """What the stamp must read: the lock's hash. Line ends are evened out, since a checkout may change them."""
    try:
        text = (root / wanted.lock).read_bytes().replace(b"\r\n", b"\n")
    except OSError as error:
        raise BootstrapError(
            f"{wanted.lock} cannot be read beside manage.py ({error.strerror}). Fetch the program again in full."
        ) from error
    return hashlib.sha256(text).hexdigest()


def is_installed(root: Path, prefix: Path, wanted: Requirements) -> bool:
    """Whether the environment at ``prefix`` holds exactly the present lock."""
    try:
        found = (prefix / wanted.stamp).read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return False
    return found == lock_stamp(root, wanted)


def wanted_for(arguments: Sequence[str]) -> list[Requirements]:
    """Which locks the given command needs."""
    command = arguments[0] if arguments else ""
    tests = command in TEST_COMMANDS or (command == SET_UP_COMMAND and "--test" in arguments)
    return [RUNTIME, TEST] if tests else [RUNTIME]


def _install(root: Path, folder: Path, wanted: Requirements, tools: Tools, out: TextIO) -> None:
    print(f"Installing {wanted.what}: {wanted.lock}, every file checked by its hash. This takes a minute.", file=out)
    out.flush()
    python = environment_python(folder)
    stamp = lock_stamp(root, wanted)
    code, said = tools.run(
        [
            str(python),
            "-m",
            "pip",
            "install",
            "--quiet",
            "--disable-pip-version-check",
            "--no-input",
            # The lock names every package with its hashes, so nothing beside it is to be resolved or built here.
            "--require-hashes",
            "--no-deps",
            "--only-binary=:all:",
            "--requirement",
            str(root / wanted.lock),
        ]
    )
    if code != 0:
        raise BootstrapError(_explain_pip(said, wanted))
    (folder / wanted.stamp).write_text(stamp + "\n", encoding="ascii")


def _explain_pip(said: str, wanted: Requirements) -> str:
    noise = ("WARNING: Location", "WARNING: Retrying")
    lines = [line for line in said.strip().splitlines() if line.strip() and not line.startswith(noise)]
    last_words = "\n".join("  " + line for line in lines[-6:])
    if "DO NOT MATCH THE HASHES" in said:
        reason = f"A downloaded file is not the one that {wanted.lock} names, so nothing of it was kept."
        advice = "Try another network; if it happens again, do not use the files."
    elif "No space left" in said:
        reason, advice = "The disk is full.", "Free about 500 MB and run the command again."
    elif any(
        sign in said for sign in ("NewConnectionError", "ConnectTimeout", "Name or service", "Temporary failure", "getaddrinfo")
    ):
        reason = "The package index could not be reached."
        advice = "Set-up needs the internet once. Connect, or set your proxy for pip, and run the command again."
    elif "No matching distribution" in said:
        reason = "A package was not found in a form that fits this machine and this Python."
        advice = "Check the connection and pip's settings, or use a 64-bit Python from 3.11 to 3.13."
    else:
        reason = f"The packages of {wanted.lock} could not be installed."
        advice = "Run the command again when the cause below is mended."
    return f"{reason} {advice}\nThe installer said:\n{last_words}"


def _usable(folder: Path, tools: Tools) -> bool:
    """Whether ``folder`` is an environment that can still start, with pip, on a Python that is new enough.

    It need not be the version that asks: the locks fit all of them, and two Pythons taking turns shall not remake it.
    """
    python = environment_python(folder)
    if not python.exists():
        return False
    try:
        code, said = tools.run([str(python), "-c", "import sys, pip; print(*sys.version_info[:2])"])
    except OSError:
        return False
    version = said.strip().splitlines()[-1:]
    return code == 0 and tuple(int(part) for part in " ".join(version).split() if part.isdigit()) >= OLDEST_PYTHON


def _make(folder: Path, tools: Tools, out: TextIO) -> None:
    if not tools.can_make_environments():
        raise BootstrapError(
            "This Python cannot make a virtual environment: its venv or ensurepip module is missing. "
            "On Debian and Ubuntu install it with: apt install python3-venv"
        )
    print(f"Making a private Python environment in {folder}.", file=out)
    out.flush()
    try:
        tools.make_environment(folder)
    except (OSError, subprocess.CalledProcessError) as error:
        raise BootstrapError(
            f"The folder {folder} could not be made ({error}). "
            "Put the program where you may write, or free some disk space, and run the command again."
        ) from error


def ensure_environment(
    arguments: Sequence[str],
    *,
    root: Path = ROOT,
    prefix: Path | None = None,
    original: Sequence[str] | None = None,
    environ: Mapping[str, str] | None = None,
    tools: Tools | None = None,
    out: TextIO | None = None,
) -> None:
    """Return when this interpreter holds what the command needs; otherwise set up ``.venv`` and restart in it.

    ``arguments`` are those after ``manage.py``; ``original`` the whole command line of this process, interpreter
    included. Raises ``BootstrapError`` with a sentence for people when set-up cannot go on.
    """
    surroundings = dict(os.environ if environ is None else environ)
    if surroundings.get(OFF_SWITCH, "").strip().lower() in {"1", "true", "yes", "on"}:
        return
    here = Path(sys.prefix) if prefix is None else prefix
    tools, out = tools or Tools(), out or sys.stdout
    wanted = wanted_for(arguments)
    if all(is_installed(root, here, each) for each in wanted):
        return
    if surroundings.get(RESTART_MARK):
        raise BootstrapError(f"The environment in {root / '.venv'} does not start as expected. Delete that folder and run again.")
    folder = root / ".venv"
    inside = here.resolve() == folder.resolve()
    if not inside and not _usable(folder, tools):
        _make(folder, tools, out)
    missing = [each for each in wanted if not is_installed(root, folder, each)]
    for each in missing:
        _install(root, folder, each, tools, out)
    if missing:
        print("Set-up is done.", file=out)
    command = [str(environment_python(folder)), *list(sys.orig_argv if original is None else original)[1:]]
    tools.restart(command, {**surroundings, RESTART_MARK: "1"})


def main(argv: Sequence[str]) -> int:
    """Set up when needed, then run the command. Returns the exit code; prints errors as plain sentences."""
    try:
        ensure_environment(argv[1:])
    except BootstrapError as error:
        print(f"Set-up stopped. {error}", file=sys.stderr)
        return USAGE_EXIT
    except KeyboardInterrupt:
        print("\nSet-up was interrupted. Run the command again to go on.", file=sys.stderr)
        return USAGE_EXIT
    os.environ.pop(RESTART_MARK, None)
    if argv[1:2] == [SET_UP_COMMAND]:
        print("Everything is installed. Next: python3 manage.py demo")
        return 0
    return _run_command(argv)


def _run_command(argv: Sequence[str]) -> int:
    # Imported late: before set-up there is no Django.
    try:
        from django.core.management import execute_from_command_line
        from django.db import DatabaseError

        from finishing.env import SettingError
        from finishing.middleware import explain_database_error
    except ImportError as error:
        print(
            f"A package is missing ({error.name}), and {OFF_SWITCH} forbids to install it. "
            "Unset that variable, or install requirements.lock yourself.",
            file=sys.stderr,
        )
        return USAGE_EXIT
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "finishing.settings")
    if argv[1:2] == ["demo"]:
        os.environ.setdefault("FINISH_LEDGER_DEMO", "1")
    try:
        execute_from_command_line(list(argv))
    except SettingError as error:
        print(error, file=sys.stderr)
        return USAGE_EXIT
    except DatabaseError as error:
        explanation = explain_database_error(error)
        if explanation is None:
            raise
        print(explanation, file=sys.stderr)
        return USAGE_EXIT
    return 0
