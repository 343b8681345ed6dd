"""``restore``: a backup into an empty home, onto either engine, checked by ``verify``."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from django.db import connection

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.rules.differences import Difference
from fraginv.front.queries.differences import differences
from fraginv.front.serving.lock import take_home
from fraginv.upkeep.actions.restoring import Restored, restore


class Command(PlainCommand):
    """Restore a backup: everything, or nothing."""

    help = "Restores a backup into an empty home, onto either engine, and verifies it."
    requires_migrations_checks = False
    makes_database = True
    undoes_when_ended = True

    def add_options(self, parser: CommandParser) -> None:
        """Take the backup."""
        parser.add_argument("file", type=Path, metavar="FILE", help="what `backup` has made")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Restore, and say what came back.

        The home is taken meanwhile, so that nobody begins to serve it half restored.
        Raises: FraginvError where it cannot be restored; nothing is written then.
        """
        lock = take_home(settings.FRAGINV_HOME)
        lock.note()
        try:
            return answer_for(restore(options["file"], check=lambda: list(differences())))
        finally:
            lock.remove(settings.FRAGINV_HOME)


def answer_for(restored: Restored[list[Difference]]) -> Answer:
    """Say what came back, what was left out, and what does not agree."""
    manifest, found = restored.manifest, restored.found
    rows, files = sum(manifest.rows.values()), len(manifest.entries)
    lines = [
        f"Restored into {settings.FRAGINV_HOME} ({connection.vendor}): {rows} rows and {files} "
        f"files, as of {manifest.made_at}, made by fraginv {manifest.version} on "
        f"{manifest.engine} {manifest.engine_version}."
    ]
    lines += [f"Left out, for it is no table of fraginv: {table}." for table in restored.left_out]
    lines += [f"Lacking since the backup: {problem}." for problem in manifest.problems]
    lines += [str(one) for one in found] or ["verify: everything agrees."]
    return Answer(
        lines=lines,
        data={
            "home": str(settings.FRAGINV_HOME),
            "engine": connection.vendor,
            "made_at": manifest.made_at,
            "version": manifest.version,
            "rows": rows,
            "files": files,
            "left_out": list(restored.left_out),
            "problems": list(manifest.problems),
            "differences": [asdict(one) for one in found],
        },
        failed=failure(found),
    )


def failure(found: Sequence[Difference]) -> str:
    """Say that what came back does not agree; nothing is taken away for that."""
    if not found:
        return ""
    many = "One difference" if len(found) == 1 else f"{len(found)} differences"
    return f"Everything was restored, but {many} found by verify."
