"""Known faults of the packages that fraginv brings: ``python -m tests.audit``.

It warns and never fails: a new fault is no reason to keep a good change back, and
without a network nobody can be asked. The lock file is read; nothing is installed.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

LOCK = Path(__file__).resolve().parent.parent / ".ci" / "lock.txt"
PATIENCE_SECONDS = 20
QUIET = {"PIP_RETRIES": "0", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}


def asked() -> str:
    """Ask for the faults of every package in the lock file; return what is to be said.

    Raises: OSError or ValueError where the answer is none; TimeoutExpired where none came.
    """
    with tempfile.TemporaryDirectory(prefix="fraginv-audit-") as folder:
        command = [
            *(sys.executable, "-m", "pip_audit", f"--requirement={LOCK}", "--require-hashes"),
            *("--no-deps", "--disable-pip", "--format=json", "--progress-spinner=off"),
            *("--timeout=5", f"--cache-dir={folder}"),
        ]
        done = subprocess.run(
            command,
            env={**os.environ, **QUIET},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=PATIENCE_SECONDS,
        )
    if not done.stdout.strip():
        raise OSError(reason_in(done.stderr))
    return told(json.loads(done.stdout))


def reason_in(text: str) -> str:
    """Return the last line of what a program said, shortened."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return (lines[-1] if lines else "it said nothing")[:160]


def told(found: dict[str, list[dict[str, object]]]) -> str:
    """Say which packages have known faults."""
    lines = []
    for one in found["dependencies"]:
        faults = one.get("vulns")
        if isinstance(faults, list) and faults:
            names = ", ".join(str(fault["id"]) for fault in faults)
            lines.append(f"WARNING: {one['name']} {one['version']} has known faults: {names}")
    many = len(found["dependencies"])
    return "\n".join(lines) or f"none of {many} packages has a known fault"


def main() -> int:
    """Say what is known; return 0 in any case."""
    try:
        said = asked()
    except (OSError, ValueError, KeyError, subprocess.TimeoutExpired) as error:
        reason = type(error).__name__ if not isinstance(error, OSError) else str(error)
        said = f"known faults of packages could not be asked for: {reason}"
    sys.stdout.write(f"{said}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
