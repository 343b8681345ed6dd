"""Children that end are started again with growing pauses; those that do not end are killed."""

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.conf import settings

pytestmark = pytest.mark.own_home
# One child ends at once, the other does not listen when it is asked to end.
WATCHED = """
import logging, signal, sys
from fraginv.front.serving import supervisor
for number in supervisor.STOPPING:  # whoever runs the tests may have set some aside
    signal.signal(number, signal.SIG_DFL)
logging.basicConfig(format="%(message)s", stream=sys.stdout)
supervisor.PAUSES_SECONDS = (0.05, 0.1, 0.2, 0.4)
stubborn = "import signal, time; signal.signal(15, signal.SIG_IGN); print('deaf', flush=True);"
children = [
    supervisor.Child("short one", [sys.executable, "-c", "raise SystemExit(3)"], {}),
    supervisor.Child("deaf one", [sys.executable, "-c", stubborn + "time.sleep(60)"], {}),
]
supervisor.watch_over(children, grace=float(sys.argv[1]))
print("over", [child.is_over() for child in children])
"""
SECONDS = 30


@contextmanager
def watched(grace: float) -> "Iterator[subprocess.Popen[str]]":
    """Watch over the two until the block ends."""
    process = subprocess.Popen(
        [sys.executable, "-c", WATCHED, str(grace)],
        cwd=settings.BASE_DIR,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate(timeout=SECONDS)


def lines_until(process: "subprocess.Popen[str]", *wanted: str) -> list[str]:
    """Read what it says until everything wanted was said."""
    assert process.stdout is not None
    said: list[str] = []
    while not all(any(want in line for line in said) for want in wanted):
        line = process.stdout.readline()
        assert line, said
        said.append(line.strip())
    return said


def test_pauses_grow_and_who_does_not_listen_is_killed() -> None:
    with watched(0.2) as process:
        said = lines_until(process, "again in 0.4 s", "deaf")
        pauses = [line.rpartition(" in ")[2] for line in said if "short one ended" in line]
        assert pauses == ["0.05 s.", "0.1 s.", "0.2 s.", "0.4 s."]
        assert "The short one ended (with status 3). It is started again in 0.05 s." in said
        process.send_signal(signal.SIGTERM)
        rest = process.communicate(timeout=SECONDS)[0]
    assert "The deaf one did not end in time and is killed." in rest
    assert "over [True, True]" in rest
    assert process.returncode == 0


def test_a_second_ctrl_c_ends_the_wait_and_nothing_else_does() -> None:
    with watched(600) as process:
        lines_until(process, "deaf")
        for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGTERM, signal.SIGINT):
            process.send_signal(number)
            time.sleep(0.3)  # two that come too close together are one
        assert process.poll() is None
        process.send_signal(signal.SIGINT)
        rest = process.communicate(timeout=SECONDS)[0]
    assert "over [True, True]" in rest
