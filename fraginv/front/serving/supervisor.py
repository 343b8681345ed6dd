"""Watching over the processes that serve and work: started again when they end, ended together."""

import contextlib
import ctypes
import logging
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

logger = logging.getLogger(__name__)

STOPPING = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
PAUSES_SECONDS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 60.0)
LASTED_SECONDS = 60.0
GRACE_SECONDS = 45.0
PR_SET_PDEATHSIG = 1  # Linux, prctl(2)


@dataclass
class Child:
    """One process to be kept running; ``failures`` counts the short lives in a row."""

    name: str
    command: Sequence[str]
    environment: Mapping[str, str]
    process: "subprocess.Popen[bytes] | None" = None
    started_at: float = 0.0
    again_at: float = 0.0
    failures: int = field(default=0)

    def start(self) -> None:
        """Start it."""
        self.started_at = time.monotonic()
        self.process = subprocess.Popen(  # noqa: S603 every word is ours
            self.command, env=self.environment, preexec_fn=end_with_parent()
        )

    def look(self) -> None:
        """Start it again, after a pause that grows with each short life, once it has ended."""
        if self.process is not None and self.process.poll() is not None:
            self.plan(self.process.returncode)
        if self.process is None and time.monotonic() >= self.again_at:
            self.start()

    def plan(self, status: int) -> None:
        """Say that it ended, and decide when it is started again."""
        now = time.monotonic()
        self.failures = 0 if now - self.started_at >= LASTED_SECONDS else self.failures
        pause = PAUSES_SECONDS[min(self.failures, len(PAUSES_SECONDS) - 1)]
        self.failures += 1
        self.process, self.again_at = None, now + pause
        logger.error(
            "The %s ended (%s). It is started again in %g s.", self.name, how(status), pause
        )

    def signal(self, number: int) -> None:
        """Send it a signal if it runs."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(number)

    def is_over(self) -> bool:
        """Tell whether it does not run."""
        return self.process is None or self.process.poll() is not None


def end_with_parent() -> Callable[[], None]:
    """Return what lets a child end in good order when its parent is killed.

    Linux sends it SIGTERM then; elsewhere whoever kills the parent must end the children.
    """
    parent = os.getpid()
    library = ctypes.CDLL(None, use_errno=True) if sys.platform == "linux" else None

    def ask() -> None:
        if library is not None:
            library.prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
            if os.getppid() != parent:
                os.kill(os.getpid(), signal.SIGTERM)

    return ask


def how(status: int) -> str:
    """Say how a process ended."""
    return f"by signal {-status}" if status < 0 else f"with status {status}"


class Alarm:
    """Wakes the loop at once when a child ends or somebody asks to stop."""

    def __init__(self) -> None:
        self.asked = self.pressed = 0
        self.read, self.write = os.pipe()
        for end in (self.read, self.write):
            os.set_blocking(end, False)

    def ring(self, number: int, frame: object) -> None:
        """Count how often somebody asked to stop, and pressed Ctrl-C; a child's end only wakes."""
        self.asked += number in STOPPING
        self.pressed += number == signal.SIGINT

    def sleep(self, seconds: float) -> None:
        """Sleep until somebody rings, at most so long."""
        select.select([self.read], [], [], max(seconds, 0))
        with contextlib.suppress(BlockingIOError):
            os.read(self.read, 512)

    @contextlib.contextmanager
    def listening(self) -> Iterator[None]:
        """Hear signals inside the block as this does; leave everything as it was."""
        # What whoever started this has set aside, as nohup does, stays set aside.
        asking = [number for number in STOPPING if signal.getsignal(number) != signal.SIG_IGN]
        numbers = (*asking, signal.SIGCHLD)
        before = {number: signal.signal(number, self.ring) for number in numbers}
        woken = signal.set_wakeup_fd(self.write, warn_on_full_buffer=False)
        try:
            yield
        finally:
            signal.set_wakeup_fd(woken)
            for number, handler in before.items():
                signal.signal(number, handler)
            os.close(self.read)
            os.close(self.write)


def watch_over(children: Sequence[Child], *, grace: float = GRACE_SECONDS) -> None:
    """Keep the children running until somebody asks to stop, then end them all.

    Args: ``grace`` is how many seconds they get to finish what they do; a second
        Ctrl-C ends the wait. Other signals do not, for some are sent twice by themselves.
    """
    alarm = Alarm()
    with alarm.listening():
        try:
            while not alarm.asked:
                for child in children:
                    child.look()
                alarm.sleep(next_look(children))
        finally:
            end_all(children, alarm=alarm, grace=grace)


def next_look(children: Sequence[Child]) -> float:
    """Return in how many seconds the next child is to be started again; a minute where none is."""
    waiting = [child.again_at - time.monotonic() for child in children if child.process is None]
    return min([*waiting, 60.0])


def end_all(children: Sequence[Child], *, alarm: Alarm, grace: float) -> None:
    """Ask the children to end, and kill those that have not after the grace."""
    until = time.monotonic() + grace
    for child in children:
        child.signal(signal.SIGTERM)
    while not all(child.is_over() for child in children):
        left = until - time.monotonic()
        if left <= 0 or alarm.pressed > 1:
            kill_late(children)
            return
        alarm.sleep(left)


def kill_late(children: Sequence[Child]) -> None:
    """Kill what still runs, and say so."""
    for child in children:
        if child.process is not None and not child.is_over():
            logger.error("The %s did not end in time and is killed.", child.name)
            child.process.kill()
            child.process.wait()
