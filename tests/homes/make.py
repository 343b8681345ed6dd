"""Make a home that is kept: ``python -m tests.homes.make fixtures/homes/NAME.zip``.

Run at the close of an issue. With ``--code FOLDER`` the home is made by the
code in that folder, such as a checkout of an older commit; this checkout's
code then only packs it, as it would before an upgrade: nothing is migrated.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
MIGRATE = "from django.core.management import call_command as c; c('migrate', verbosity=0)"
TELL = f"import sys; sys.path.append({str(Path(__file__).parent)!r}); import story; story.tell()"
PACK = (
    "import sys; from pathlib import Path; "
    "from fraginv.upkeep.actions.backups import back_up; back_up(Path(sys.argv[1]))"
)


def run(code: Path, *, home: Path, lines: str, argument: str = "") -> None:
    """Run lines of Python on a home, by the code in a folder."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("FRAGINV_") and name != "DATABASE_URL"
    }
    subprocess.run(
        [sys.executable, "-c", f"import django; django.setup(); {lines}", argument],
        cwd=code,
        env=kept
        | {
            "DJANGO_SETTINGS_MODULE": "fraginv.settings",
            "FRAGINV_HOME": str(home),
            "PYTHONPATH": str(code),
        },
        check=True,
    )


def make(file: Path, *, code: Path) -> None:
    """Let a home be lived in, and pack it."""
    with tempfile.TemporaryDirectory(prefix="fraginv-home-") as folder:
        home = Path(folder) / "home"
        run(code, home=home, lines=MIGRATE)
        run(code, home=home, lines=TELL)
        run(ROOT, home=home, lines=PACK, argument=str(file.absolute()))


def main() -> None:
    """Read what is asked for, and make it."""
    parser = argparse.ArgumentParser(prog="python -m tests.homes.make")
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--code", type=Path, default=ROOT, metavar="FOLDER")
    options = parser.parse_args()
    make(options.file, code=options.code.absolute())


if __name__ == "__main__":
    main()
