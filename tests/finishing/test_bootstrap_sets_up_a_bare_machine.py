"""Set-up from a bare Python, watched through tools that touch nothing.

The real thing, with a real environment and a real download, is a step of ``.ci/run``.
"""

from __future__ import annotations

import ast
import io
import os
import runpy
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NoReturn

import pytest

from finishing import bootstrap
from finishing.bootstrap import RUNTIME, TEST, BootstrapError, Tools, ensure_environment, environment_python, lock_stamp

ROOT = Path(__file__).resolve().parents[2]


class Restarted(Exception):  # noqa: N818 - not a fault: the process would be gone
    """What the real restart does by leaving the process."""

    def __init__(self, command: Sequence[str], environ: Mapping[str, str]) -> None:
        self.command = list(command)
        self.environ = dict(environ)
        super().__init__("restarted")


class Watched(Tools):
    """Tools that write down what was asked and make believe that it worked."""

    def __init__(self) -> None:
        self.made: list[Path] = []
        self.commands: list[list[str]] = []
        self.pip_code, self.pip_said = 0, ""
        self.version_said = "3 11"
        self.able = True

    def can_make_environments(self) -> bool:
        return self.able

    def make_environment(self, folder: Path) -> None:
        self.made.append(folder)
        python = environment_python(folder)
        python.parent.mkdir(parents=True, exist_ok=True)
        python.touch()

    def run(self, command: Sequence[str]) -> tuple[int, str]:
        self.commands.append(list(command))
        return (self.pip_code, self.pip_said) if "pip" in command else (0, self.version_said + "\n")

    def restart(self, command: Sequence[str], environ: Mapping[str, str]) -> NoReturn:
        raise Restarted(command, environ)

    @property
    def installed(self) -> list[str]:
        """The locks handed to pip, by name."""
        return [Path(command[-1]).name for command in self.commands if "pip" in command]


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A copy of the program as far as set-up looks at it."""
    (tmp_path / RUNTIME.lock).write_bytes(b"django==5.2\n")
    (tmp_path / TEST.lock).write_bytes(b"pytest==9.2\n")
    return tmp_path


def start(root: Path, tools: Watched, *arguments: str, prefix: Path | None = None, **environ: str) -> str:
    """Run set-up as ``python3 manage.py ARGUMENTS`` would; returns what it printed."""
    out = io.StringIO()
    ensure_environment(
        arguments,
        root=root,
        prefix=prefix or root / "elsewhere",
        original=["/usr/bin/python3", "manage.py", *arguments],
        environ=environ,
        tools=tools,
        out=out,
    )
    return out.getvalue()


def restarted(root: Path, tools: Watched, *arguments: str, prefix: Path | None = None, **environ: str) -> Restarted:
    with pytest.raises(Restarted) as caught:
        start(root, tools, *arguments, prefix=prefix, **environ)
    return caught.value


def test_a_bare_machine_gets_an_environment_and_the_same_command_again(root: Path) -> None:
    tools = Watched()
    after = restarted(root, tools, "demo", "--no-serve")
    assert tools.made == [root / ".venv"]
    assert tools.installed == ["requirements.lock"]
    assert after.command == [str(environment_python(root / ".venv")), "manage.py", "demo", "--no-serve"]


def test_every_installed_file_is_checked_by_its_hash_and_nothing_else_comes_along(root: Path) -> None:
    tools = Watched()
    restarted(root, tools, "demo")
    (command,) = (command for command in tools.commands if "pip" in command)
    assert {"--require-hashes", "--no-deps", "--only-binary=:all:"} <= set(command)


@pytest.mark.parametrize("arguments", [("test",), ("bench",), ("bootstrap", "--test")])
def test_the_commands_that_need_test_tools_install_them(root: Path, arguments: tuple[str, ...]) -> None:
    tools = Watched()
    restarted(root, tools, *arguments)
    assert tools.installed == ["requirements.lock", "requirements-test.lock"]


def test_the_second_start_inside_the_environment_does_nothing(root: Path) -> None:
    tools = Watched()
    restarted(root, tools, "demo")
    tools.commands.clear()
    assert start(root, tools, "demo", prefix=root / ".venv") == ""
    assert tools.commands == []


def test_the_second_start_outside_it_only_changes_over(root: Path) -> None:
    tools = Watched()
    restarted(root, tools, "demo")
    tools.commands.clear()
    restarted(root, tools, "demo")
    assert tools.made == [root / ".venv"]
    assert tools.installed == []


def test_a_changed_lock_is_installed_again(root: Path) -> None:
    tools = Watched()
    restarted(root, tools, "demo")
    (root / RUNTIME.lock).write_bytes(b"django==5.2.1\n")
    restarted(root, tools, "demo", prefix=root / ".venv")
    assert tools.installed == ["requirements.lock", "requirements.lock"]
    assert tools.made == [root / ".venv"], "a working environment is kept"


def test_line_ends_of_a_checkout_do_not_count_as_a_change(root: Path) -> None:
    before = lock_stamp(root, RUNTIME)
    (root / RUNTIME.lock).write_bytes(b"django==5.2\r\n")
    assert lock_stamp(root, RUNTIME) == before


@pytest.mark.parametrize("said", ["3 10", "2 7", "nonsense", ""])
def test_an_environment_whose_python_is_too_old_or_broken_is_made_anew(root: Path, said: str) -> None:
    tools = Watched()
    restarted(root, tools, "demo")
    tools.version_said = said
    restarted(root, tools, "demo")
    assert tools.made == [root / ".venv", root / ".venv"]


@pytest.mark.parametrize("said", ["3 11", "3 13", "3 20"])
def test_an_environment_of_another_supported_python_is_kept(root: Path, said: str) -> None:
    tools = Watched()
    restarted(root, tools, "demo")
    tools.version_said = said
    restarted(root, tools, "demo")
    assert tools.made == [root / ".venv"]


def test_a_failed_installation_leaves_no_stamp_and_says_what_pip_said(root: Path) -> None:
    tools = Watched()
    tools.pip_code, tools.pip_said = 1, "ERROR: something odd\n"
    with pytest.raises(BootstrapError, match="something odd"):
        start(root, tools, "demo")
    assert not (root / ".venv" / RUNTIME.stamp).exists()


@pytest.mark.parametrize(
    ("pip_said", "sentence"),
    [
        ("... NewConnectionError('<...>: Failed to establish a new connection')", "needs the internet once"),
        ("getaddrinfo failed", "needs the internet once"),
        ("ERROR: No matching distribution found for pillow==13", "fits this machine and this Python"),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.", "nothing of it was kept"),
        ("OSError: [Errno 28] No space left on device", "The disk is full"),
    ],
)
def test_the_reason_of_a_failed_installation_is_a_sentence(root: Path, pip_said: str, sentence: str) -> None:
    tools = Watched()
    tools.pip_code, tools.pip_said = 1, pip_said
    with pytest.raises(BootstrapError, match=sentence):
        start(root, tools, "demo")


def test_a_python_without_venv_names_the_package_to_install(root: Path) -> None:
    tools = Watched()
    tools.able = False
    with pytest.raises(BootstrapError, match="apt install python3-venv"):
        start(root, tools, "demo")


def test_a_folder_that_cannot_be_written_is_named(root: Path) -> None:
    class Unwritable(Watched):
        def make_environment(self, folder: Path) -> None:
            raise PermissionError(13, "Permission denied", str(folder))

    with pytest.raises(BootstrapError, match=r"could not be made .*Permission denied"):
        start(root, Unwritable(), "demo")


def test_an_incomplete_program_folder_is_named(root: Path) -> None:
    (root / RUNTIME.lock).unlink()
    with pytest.raises(BootstrapError, match=r"requirements\.lock cannot be read"):
        start(root, Watched(), "demo")


def test_a_restart_that_lands_in_the_wrong_place_stops_instead_of_going_round(root: Path) -> None:
    tools = Watched()
    after = restarted(root, tools, "demo")
    with pytest.raises(BootstrapError, match="Delete that folder"):
        start(root, tools, "demo", **after.environ)


def test_the_off_switch_leaves_the_machine_alone(root: Path) -> None:
    tools = Watched()
    assert start(root, tools, "demo", FINISH_LEDGER_NO_BOOTSTRAP="1") == ""
    assert tools.commands == tools.made == []


def test_set_up_prints_what_it_does(root: Path) -> None:
    tools, out = Watched(), io.StringIO()
    with pytest.raises(Restarted):
        ensure_environment(["demo"], root=root, prefix=root, original=["python3", "manage.py"], environ={}, tools=tools, out=out)
    said = out.getvalue()
    assert "private Python environment" in said
    assert "checked by its hash" in said
    assert said.rstrip().endswith("Set-up is done.")


def test_main_says_why_set_up_stopped_and_exits_with_2(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop(arguments: Sequence[str]) -> None:
        raise BootstrapError("The disk is full.")

    monkeypatch.setattr(bootstrap, "ensure_environment", stop)
    assert bootstrap.main(["manage.py", "demo"]) == 2
    assert "Set-up stopped. The disk is full." in capsys.readouterr().err


def test_an_older_python_is_told_what_is_needed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 8, 16))
    with pytest.raises(SystemExit) as left:
        runpy.run_path(str(ROOT / "manage.py"))
    assert left.value.code == 2
    assert "needs Python 3.11 or newer; this is Python 3.8." in capsys.readouterr().err


def test_an_older_python_can_read_the_file_that_tells_it() -> None:
    source = (ROOT / "manage.py").read_text(encoding="utf-8")
    tree = ast.parse(source, feature_version=(3, 7))
    too_new = (ast.JoinedStr, ast.AnnAssign, ast.FunctionDef, ast.NamedExpr)
    assert not [node for node in ast.walk(tree) if isinstance(node, too_new)]
    assert "__future__" not in source


def test_set_up_imports_nothing_that_has_to_be_installed() -> None:
    tree = ast.parse((ROOT / "finishing" / "bootstrap.py").read_text(encoding="utf-8"))
    top = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
    names = {alias.name for node in top if isinstance(node, ast.Import) for alias in node.names}
    names |= {node.module or "" for node in top if isinstance(node, ast.ImportFrom)}
    assert {name.partition(".")[0] for name in names} <= sys.stdlib_module_names


def test_an_unknown_setting_is_one_sentence_and_no_traceback() -> None:
    done = subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT,
        env={**os.environ, "FINISH_LEDGER_NO_BOOTSTRAP": "1", "FINISH_LEDGER_DEBUG": "perhaps"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.startswith("The environment variable FINISH_LEDGER_DEBUG is 'perhaps'.")
    assert "Traceback" not in done.stderr
