"""Databases that exist for one run: the shop's own is never opened.

Each is an SQLite file in a folder that is deleted at the end, opened with the settings that the program gives any SQLite file.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote

from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.utils import ConnectionHandler

from finishing import show
from finishing.env import database_config


class Databases:
    """The databases of a run by name; one of them is in use as the default."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._open: dict[str, BaseDatabaseWrapper] = {}

    def path(self, name: str) -> Path:
        """The file of a database."""
        return self.folder / f"{name}.sqlite3"

    def use(self, name: str) -> None:
        """Let everything that follows work in this database; its connection stays open when another one is used."""
        if name not in self._open:
            config = database_config(f"sqlite:///{quote(self.path(name).as_posix())}", self.folder)
            self._open[name] = ConnectionHandler({DEFAULT_DB_ALIAS: config})[DEFAULT_DB_ALIAS]
        connections[DEFAULT_DB_ALIAS] = self._open[name]
        show.use(None)  # the shop's way of showing things belongs to the database that was in use before

    def make(self, name: str) -> None:
        """A new database with all tables, in use from now on."""
        self.use(name)
        call_command("migrate", verbosity=0, interactive=False)

    def copy(self, source: str, name: str) -> None:
        """A copy of a database as it is now; it is not in use yet."""
        if source in self._open:
            self._open[source].close()  # the last connection writes the log back into the file
        shutil.copyfile(self.path(source), self.path(name))

    def drop(self, name: str) -> None:
        """Forget a database, if there is one of this name, so that another copy can take its place."""
        if name in self._open:
            self._open.pop(name).close()
        for path in self.folder.glob(f"{name}.sqlite3*"):
            path.unlink()

    def close(self) -> None:
        """Close every connection, so that the files can be deleted."""
        for connection in self._open.values():
            connection.close()


@contextmanager
def temporary_databases() -> Iterator[Databases]:
    """Databases in a folder of their own until the block ends; then the shop's own is the default again, unopened."""
    shops = connections[DEFAULT_DB_ALIAS]
    with TemporaryDirectory(prefix="finish-ledger-bench-") as folder:
        databases = Databases(Path(folder))
        try:
            yield databases
        finally:
            databases.close()
            connections[DEFAULT_DB_ALIAS] = shops
            show.use(None)
