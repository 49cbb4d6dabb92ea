"""What this machine has that some tests need: a browser, a spreadsheet program, a PDF drawing tool, PostgreSQL."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable
from pathlib import Path

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
MACOS_BROWSERS = ("Google Chrome", "Chromium", "Microsoft Edge")
WINDOWS_BROWSERS = ("Google/Chrome/Application/chrome.exe", "Microsoft/Edge/Application/msedge.exe")
POSTGRES_FOLDERS = (
    "/usr/lib/postgresql/*/bin",
    "/usr/pgsql-*/bin",
    "/opt/homebrew/opt/postgresql*/bin",
    "/usr/local/opt/postgresql*/bin",
)


def _program_folders() -> Iterable[Path]:
    for name in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"):
        folder = os.environ.get(name)
        if folder:
            yield Path(folder)


def _first_file(candidates: Iterable[Path]) -> Path | None:
    return next((path for path in candidates if path.is_file()), None)


def _on_path(names: Iterable[str]) -> Path | None:
    found = (shutil.which(name) for name in names)
    return next((Path(path) for path in found if path), None)


def find_chromium() -> Path | None:
    """A Chromium-like browser installed on this machine. Playwright's own is looked up by Playwright."""
    applications = Path("/Applications")
    mac = (applications / f"{name}.app" / "Contents" / "MacOS" / name for name in MACOS_BROWSERS)
    windows = (folder / tail for folder in _program_folders() for tail in WINDOWS_BROWSERS)
    return _on_path(CHROMIUM_NAMES) or _first_file(mac) or _first_file(windows)


def find_soffice() -> Path | None:
    """LibreOffice's command, which recalculates a spreadsheet without a window."""
    mac = [Path("/Applications/LibreOffice.app/Contents/MacOS/soffice")]
    windows = [folder / "LibreOffice" / "program" / "soffice.exe" for folder in _program_folders()]
    return _on_path(("soffice", "libreoffice")) or _first_file(mac) or _first_file(windows)


def find_pdftoppm() -> Path | None:
    """The command that draws the pages of a PDF as pictures."""
    return _on_path(("pdftoppm",))


def find_postgres() -> Path | None:
    """The folder with ``initdb`` and ``pg_ctl`` of the newest PostgreSQL server on this machine."""
    folders = [folder for pattern in POSTGRES_FOLDERS for folder in Path("/").glob(pattern.lstrip("/"))]
    folders += [found for place in _program_folders() for found in place.glob("PostgreSQL/*/bin")]
    on_path = _on_path(("initdb",))
    if on_path is not None:
        folders.append(on_path.parent)
    suffix = ".exe" if os.name == "nt" else ""
    whole = [folder for folder in folders if all((folder / f"{name}{suffix}").exists() for name in ("initdb", "pg_ctl"))]
    return max(whole, key=_version, default=None)


def _version(folder: Path) -> tuple[int, ...]:
    """Sort key: the numbers in the folder above ``bin``, so that 17 beats 9.6."""
    name = folder.parent.name.rpartition("-")[2].rpartition("@")[2]
    return tuple(int(part) for part in name.split(".") if part.isdigit())
