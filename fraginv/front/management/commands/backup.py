"""``backup``: one file with database, photos and papers, and the signing key."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.upkeep.actions.backups import make_backup


class Command(PlainCommand):
    """Make a backup while people work, and read it back."""

    help = "Makes one file with database, photos, papers and key, while people work."
    undoes_when_ended = True

    def add_options(self, parser: CommandParser) -> None:
        """Take where the backup goes."""
        parser.add_argument("file", type=Path, metavar="FILE", help="a new file, such as reef.zip")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Make the backup, and say what is in it.

        Raises: FraginvError where none could be made.
        """
        made = make_backup(options["file"].absolute())
        rows, files = sum(made.manifest.rows.values()), len(made.manifest.entries)
        return Answer(
            lines=[
                f"{made.file}: {rows} rows and {files} files, {made.size_bytes} bytes, "
                f"read back and sound, in {made.seconds:.1f} s.",
                f"SHA-256 {made.sha256}",
                "It holds the signing key and the hashes of passwords: keep it as you keep cash.",
            ],
            data={
                "file": str(made.file),
                "size_bytes": made.size_bytes,
                "sha256": made.sha256,
                "seconds": made.seconds,
                "engine": made.manifest.engine,
                "rows": rows,
                "files": files,
                "problems": list(made.manifest.problems),
            },
            failed=made.problem,
        )
