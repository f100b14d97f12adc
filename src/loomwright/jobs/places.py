"""Where jobs are kept when nobody says otherwise."""

from __future__ import annotations

import os
import sys
from pathlib import Path

FOLDER_KEY = "LOOMWRIGHT_DATA"
URL_KEY = "LOOMWRIGHT_STORE"


def default_folder() -> Path:
    """The data folder: ``LOOMWRIGHT_DATA`` where set, else the user's own place for the data of programs."""
    given = os.environ.get(FOLDER_KEY)
    if given:
        return Path(given).expanduser()
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share")
    return base / "loomwright"


def default_url() -> str:
    """The store: ``LOOMWRIGHT_STORE`` where set, else ``jobs.sqlite3`` in the data folder."""
    return os.environ.get(URL_KEY) or url_in(default_folder())


def url_in(folder: Path) -> str:
    """The SQLite store of a data folder."""
    return str(folder / "jobs.sqlite3")
