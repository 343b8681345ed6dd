"""Kill everything in the middle of sales, again and again: ``python -m tests.durability.kills``.

Each round sells by several clients without pause, kills the whole group of
processes at a chance moment, on PostgreSQL its server too or alone, starts
again, and looks whether each sale is there whole or not at all, and once.
``--rounds 200`` takes some quarter of an hour; the seed says what is sold and
when it is killed, while what is under way at that moment is chance.
"""

import argparse
import json
import os
import random
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import django

from tests.plugin import ENGINES
from tests.postgres import SAFE, Server


@contextmanager
def home_on(engine: str) -> Iterator[tuple[Path, Server | None]]:
    """Set Django up on an empty home that stays; PostgreSQL writes to the disk as it should."""
    folder = Path(tempfile.mkdtemp(prefix="fraginv-kills-"))
    # The server runs as another user where this process is root.
    folder.chmod(0o711)
    for name in [name for name in os.environ if name.startswith("FRAGINV_")]:
        del os.environ[name]
    os.environ.pop("DATABASE_URL", None)
    os.environ["FRAGINV_HOME"] = str(folder / "home")
    os.environ["DJANGO_SETTINGS_MODULE"] = "fraginv.settings"
    server = Server(folder / "server", settings=SAFE) if engine == "postgresql" else None
    if server is not None:
        server.start()
        os.environ["DATABASE_URL"] = server.url
    try:
        django.setup()
        yield folder / "home", server
    finally:
        if server is not None:
            server.stop()


def main() -> int:
    """Play the rounds, and say how to play them again and what came of them."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--engine", choices=ENGINES, default="sqlite")
    parser.add_argument("--rounds", type=int, default=10, metavar="N")
    parser.add_argument("--seed", type=int, default=random.randrange(10**6), metavar="N")
    parser.add_argument("--quiet", action="store_true", help="say the last figures alone")
    options = parser.parse_args()
    with home_on(options.engine) as (home, server):
        from tests.durability.rounds import Figures, as_row, play

        # Said at once, so that it is known however this ends.
        again = f"--engine {options.engine} --rounds {options.rounds} --seed {options.seed}"
        sys.stderr.write(f"Again: python -m tests.durability.kills {again}\nHome: {home}\n")
        figures = Figures(options.engine, options.seed)
        for _ in play(home, server=server, figures=figures, rounds=options.rounds):
            if not options.quiet:
                sys.stderr.write(f"{json.dumps(as_row(figures))}\n")
        sys.stdout.write(f"{json.dumps(as_row(figures))}\n")
        if figures.faults:
            said = (home / "served.log").read_text(errors="replace")
            sys.stderr.write(f"What was served said:\n{said[-4000:]}\n")
    if not figures.faults:
        shutil.rmtree(home.parent)
    return bool(figures.faults)


if __name__ == "__main__":
    raise SystemExit(main())
