"""The secret key: given in production, made once and kept beside the data on a single machine."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from finishing.env import SettingError

MIN_LENGTH = 50


def local_secret_key(data_dir: Path, given: str, *, local: bool, testing: bool) -> str:
    """The key that signs sessions and forms.

    ``given`` wins when it is long enough. In local mode a missing key is made once and kept in ``data_dir/secret.key``,
    readable by its owner only. Raises ``SettingError`` in production when none, or a short one, was given.
    """
    if given:
        if len(given) < MIN_LENGTH:
            raise SettingError("FINISH_LEDGER_SECRET_KEY", "(too short)", f"at least {MIN_LENGTH} random characters")
        return given
    if not local:
        raise SettingError("FINISH_LEDGER_SECRET_KEY", None, f"at least {MIN_LENGTH} random characters, kept secret")
    if testing:
        return "only-for-tests-" * 5
    path = data_dir / "secret.key"
    try:
        return _read_or_make(path)
    except OSError as error:
        raise SettingError(
            "FINISH_LEDGER_DATA_DIR", str(data_dir), f"a folder that can be written to ({error.strerror})"
        ) from error


def _read_or_make(path: Path) -> str:
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        # Written beside and linked into place, so that two processes that start at once agree on one key.
        draft = path.with_suffix(f".{os.getpid()}")
        draft.write_text(secrets.token_urlsafe(64), encoding="ascii")
        draft.chmod(0o600)
        if path.exists():
            draft.unlink()
        else:
            draft.replace(path)
    return path.read_text(encoding="ascii").strip()
