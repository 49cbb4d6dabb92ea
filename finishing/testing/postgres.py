"""A throwaway PostgreSQL server for one test run: made, started, used, stopped, deleted."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

SUPERUSER = "ledger"
DATABASE = "postgres"
# Nothing here outlives the run, so nothing is worth waiting for the disk.
HASTE = ("fsync=off", "synchronous_commit=off", "full_page_writes=off")
_START_SECONDS = 60


class PostgresError(RuntimeError):
    """The throwaway server could not be made or started; the text holds what PostgreSQL said."""


@contextmanager
def throwaway_postgres(binaries: Path) -> Iterator[str]:
    """Run a server from ``binaries`` for the length of the block and give its ``DATABASE_URL``.

    It listens on a Unix socket in its own folder, on Windows on a free loopback port. Run as root, the server runs as
    ``postgres`` or ``nobody``, since PostgreSQL refuses root. Raises ``PostgresError``.
    """
    folder = Path(tempfile.mkdtemp(prefix="ledger-pg-"))
    account = _account()
    try:
        if account is not None:
            shutil.chown(folder, account)
        _call(binaries, "initdb", _initdb_arguments(), folder, account)
        url, where = _address(folder)
        settings = " ".join(f"-c {setting}" for setting in (*where, *HASTE))
        _call(binaries, "pg_ctl", ["-w", "-t", str(_START_SECONDS), *_log(folder), "-o", settings, "start"], folder, account)
        try:
            folder.chmod(0o711)  # whoever runs the tests must reach the socket inside
            yield url
        finally:
            _call(binaries, "pg_ctl", ["-m", "immediate", "-w", "stop"], folder, account)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _initdb_arguments() -> list[str]:
    locale = "C" if sys.platform in {"win32", "darwin"} else "C.UTF-8"
    return ["-U", SUPERUSER, "-A", "trust", "-E", "UTF8", f"--locale={locale}", "--no-sync"]


def _log(folder: Path) -> list[str]:
    return ["-l", str(folder / "log")]


def _address(folder: Path) -> tuple[str, tuple[str, ...]]:
    """The URL for the settings and the server options that make it answer there."""
    if os.name != "nt":
        url = f"postgres://{SUPERUSER}@/{DATABASE}?host={quote(str(folder), safe='')}"
        return url, ("listen_addresses=", f"unix_socket_directories={folder}")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    return f"postgres://{SUPERUSER}@127.0.0.1:{port}/{DATABASE}", ("listen_addresses=127.0.0.1", f"port={port}")


def _account() -> str | None:
    """The account to run the server as, or None for the present one."""
    if sys.platform == "win32" or os.geteuid() != 0:
        return None
    import pwd

    names = {entry.pw_name for entry in pwd.getpwall()}
    chosen = next((name for name in ("postgres", "nobody") if name in names), None)
    if chosen is None:
        raise PostgresError("PostgreSQL refuses to run as root, and there is no account postgres or nobody to run it as.")
    return chosen


def _environment(folder: Path) -> Mapping[str, str]:
    """Our own surroundings without the variables that would point the tools at another server."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PG")}
    return {**kept, "HOME": str(folder), "LC_ALL": "C"}


def _call(binaries: Path, tool: str, arguments: list[str], folder: Path, account: str | None) -> None:
    # The output goes to a file: a server started here keeps its end of a pipe open for ever.
    with tempfile.TemporaryFile() as said:
        done = subprocess.run(  # noqa: S603 - our own arguments, a binary of this machine
            [str(binaries / tool), "-D", str(folder / "data"), *arguments],
            cwd=folder,
            env=_environment(folder),
            user=account,
            group=_group(account),
            extra_groups=[] if account else None,
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            check=False,
        )
        if done.returncode != 0:
            said.seek(0)
            text = said.read().decode(errors="replace").strip()
            log = folder / "log"
            if log.exists():
                text += "\n" + log.read_text(errors="replace")[-2000:]
            raise PostgresError(f"{tool} ended with {done.returncode}:\n{text}")


def _group(account: str | None) -> int | None:
    if account is None or sys.platform == "win32":
        return None
    import pwd

    return pwd.getpwnam(account).pw_gid
