"""The folder that the demo makes, and no other."""

import shutil
import sqlite3
from pathlib import Path

from fraginv.base.errors import Conflict

MARK = "made-by-demo.txt"
TEXT = "The demo made this folder and makes it anew on every run. Keep nothing here.\n"


def demo_folder(home: Path, *, database_url: str) -> Path:
    """Return the demo's folder in a home, after making sure that nothing real is in reach.

    Raises: Conflict where another database is set, the home has live data, or
        the folder was not made by the demo. Nothing is written.
    """
    if database_url:
        raise Conflict(
            "DATABASE_URL is set, and the demo keeps away from any other database. "
            "Unset it and run the demo again."
        )
    if has_live_data(home / "fraginv.sqlite3"):
        raise Conflict(
            f"{home} holds an organisation's live data. Set FRAGINV_HOME to another folder "
            "for the demo."
        )
    folder = home / "demo"
    if folder.exists() and not (folder / MARK).is_file() and any(folder.iterdir()):
        raise Conflict(
            f"{folder} was not made by the demo and is left alone. Move it away, "
            "or set FRAGINV_HOME to another folder."
        )
    return folder


def has_live_data(database: Path) -> bool:
    """Tell whether a SQLite file holds an organisation that is not a demo."""
    if not database.is_file():
        return False
    connection = sqlite3.connect(f"{database.as_uri()}?mode=ro", uri=True)
    try:
        row = connection.execute("SELECT is_demo FROM base_organisation").fetchone()
    except sqlite3.DatabaseError:
        return True
    finally:
        connection.close()
    return row is not None and not row[0]


def make_empty(folder: Path) -> None:
    """Make the demo's folder anew, marked as such."""
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir(parents=True)
    (folder / MARK).write_text(TEXT, encoding="ascii")
