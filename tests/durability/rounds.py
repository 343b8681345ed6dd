"""Rounds of selling, killing, starting again and looking; Django is set up before."""

import os
import random
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from functools import partial
from pathlib import Path
from queue import Empty, SimpleQueue

from django.core.management import call_command
from django.db import connections

from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.rules.roles import Role
from tests.durability.groups import Group, kill_server
from tests.durability.sent import AWAY, Sent, Stock, send_on
from tests.durability.whole import (
    Wanted,
    answer_kept,
    engine_says,
    faults_of,
    faults_of_all,
    sale_at,
)
from tests.front.running import PASSWORD, wait_until_served
from tests.postgres import Server
from tests.serving import Caller, free_port
from tests.trade.rows import open_shop

CLIENTS = 4
# Every other round is served by one process, and by two.
MOST_PROCESSES, THREADS = 2, 4
EARLIEST, LATEST = 0.05, 1.0  # seconds from the first answer to the kill
ANSWER_SECONDS = 60
STARTING_TOO = 10


class Killed(StrEnum):
    """What a round kills."""

    APP = "app"
    BOTH = "app and server"
    SERVER = "server"


@dataclass
class Figures:
    """What came of all rounds."""

    engine: str
    seed: int
    rounds: int = 0
    killed_starting: int = 0
    server_killed: int = 0
    answered: int = 0
    unanswered_whole: int = 0
    unanswered_absent: int = 0
    sent_again: int = 0
    faults: list[str] = field(default_factory=list)


class Rounds:
    """A shop under way, its processes, and all that was sent to it."""

    def __init__(self, home: Path, *, server: Server | None, figures: Figures) -> None:
        self.server, self.figures = server, figures
        self.log = home / "served.log"
        self.port = free_port()
        self.chance = random.Random(figures.seed)
        self.stock, self.callers = self.found()
        self.there: list[Wanted] = []
        self.processes = 1
        self.group = self.started()

    def found(self) -> tuple[Stock, list[Caller]]:
        """Write down an organisation, its people, and what it sells; sign the sellers in."""
        call_command("migrate", verbosity=0)
        found_organisation(
            "Harbour Hall", currency="USD", zone="America/New_York", label_host="localhost"
        )
        people = {
            role: add_person(role.value, name=role.value, role=role, password=PASSWORD)
            for role in (Role.OWNER, Role.MANAGER, Role.SELLER)
        }
        stock = Stock(open_shop(people))
        callers = [Caller(people[Role.SELLER], port=self.port) for _ in range(CLIENTS)]
        return stock, callers

    def start(self) -> Group:
        """Begin to serve as people do, with no worker beside."""
        connections.close_all()
        self.processes = self.processes % MOST_PROCESSES + 1
        return Group(
            [sys.executable, "manage.py", "start", "--no-work", "--port", str(self.port)],
            environment=os.environ
            | {"FRAGINV_PROCESSES": str(self.processes), "FRAGINV_THREADS": str(THREADS)},
            log=self.log,
        )

    def started(self) -> Group:
        """Begin to serve, and wait until the pages are there."""
        group = self.start()
        try:
            wait_until_served(group.process, port=self.port, err=self.log)
        except BaseException:
            group.kill()
            raise
        return group

    def play(self, number: int) -> None:
        """Sell, kill, start again, and look."""
        kinds = [Killed.APP] if self.server is None else list(Killed)
        killed = kinds[number % len(kinds)]
        self.stock.fill()
        sent = self.sell_until_killed(killed, number=number)
        if killed != Killed.SERVER:
            if number % STARTING_TOO == STARTING_TOO - 1:
                self.kill_starting()
            self.group = self.started()
        self.figures.rounds += 1
        self.figures.faults += [f"round {number}, {killed}: {one}" for one in self.look(sent)]

    def sell_until_killed(self, killed: Killed, *, number: int) -> list[Sent]:
        """Let the clients sell until all is killed at a chance moment; return what they sent."""
        answered: SimpleQueue[None] = SimpleQueue()
        pause = self.chance.uniform(EARLIEST, LATEST)

        def sell(place: int) -> list[Sent]:
            chance = random.Random(f"{self.figures.seed}/{number}/{place}")
            caller = self.callers[place]
            return list(send_on(caller, self.stock, chance=chance, note=lambda: answered.put(None)))

        with ThreadPoolExecutor(CLIENTS) as pool:
            selling = [pool.submit(sell, place) for place in range(CLIENTS)]
            try:
                answered.get(timeout=ANSWER_SECONDS)
            except Empty:
                self.figures.faults.append(f"round {number}: nothing was sold before the kill")
            time.sleep(pause)
            moment = time.monotonic()
            self.kill(killed)
            sent = [one for client in selling for one in client.result(timeout=ANSWER_SECONDS)]
        self.figures.faults += [
            f"round {number}: {one.status} {one.said}" for one in sent if is_strange(one, moment)
        ]
        return sent

    def kill(self, killed: Killed) -> None:
        """Kill the application, the server of its database, or both in either order."""
        connections.close_all()
        works = []
        if killed != Killed.SERVER:
            members = self.group.members()
            # Beside those that answer, the one that takes calls in and the one that watches.
            if len(members) < self.processes + 2:
                self.figures.faults.append(f"Only {members} were there to be killed")
            works.append(self.group.kill)
        if killed != Killed.APP and self.server is not None:
            works.append(partial(kill_server, self.server))
            self.figures.server_killed += 1
        self.chance.shuffle(works)
        for work in works:
            work()
        if killed != Killed.APP and self.server is not None:
            self.server.launch()

    def kill_starting(self) -> None:
        """Begin to serve, and kill that too, before it is ready or just after."""
        group = self.start()
        time.sleep(self.chance.uniform(0, 3))
        group.kill()
        self.figures.killed_starting += 1

    def look(self, sent: list[Sent]) -> Iterator[str]:
        """Yield what is wrong: first with each sale that was sent, then with all together."""
        for one in sent:
            yield from self.look_at(one)
        # Each reads the paper it was led to last, and with it all that it was told.
        for one in {one.caller: one for one in sent}.values():
            if one.caller.get(one.location).status != 200:
                yield f"{one.location} cannot be read"
        yield from faults_of_all(self.there, self.stock.began_with)
        yield from engine_says()

    def look_at(self, one: Sent) -> Iterator[str]:
        """Look at what became of one sale, send it again where nobody knows, and look again."""
        answered, kept = one.location, answer_kept(one.key)
        if answered:
            self.figures.answered += 1
            if kept != answered:
                yield f"{answered} was answered, and is now {kept}"
        elif kept is None:
            self.figures.unanswered_absent += 1
        else:
            self.figures.unanswered_whole += 1
        # Of those that were answered a few are sent again, of the others each, and twice.
        for _ in range(2 if not answered else self.chance.random() < 0.2):
            self.figures.sent_again += 1
            if not one.send():
                yield f"Sent again: {one.status} {one.said}"
            if kept not in {None, one.location}:
                yield f"Sent again: led to {one.location}, before to {kept}"
            kept = one.location
        yield from self.look_whole(one)

    def look_whole(self, one: Sent) -> Iterator[str]:
        """Look whether a sale is there whole, and keep it among those that must stay."""
        wanted = Wanted(one.wanted, one.total, one.is_paid)
        self.there.append(wanted)
        sale = sale_at(one.location)
        if sale is None:
            yield f"There is no sale at {one.location!r}"
        else:
            yield from faults_of(sale, wanted)


def is_strange(one: Sent, killed_at: float) -> bool:
    """Tell whether a sale was not answered for another reason than the kill."""
    if one.location:
        return False
    return one.at < killed_at or one.status not in {0, AWAY}


def play(home: Path, *, server: Server | None, figures: Figures, rounds: int) -> Iterator[Figures]:
    """Play rounds until something is wrong; yield the figures after each."""
    under_way = Rounds(home, server=server, figures=figures)
    try:
        for number in range(rounds):
            under_way.play(number)
            yield figures
            if figures.faults:
                return
    finally:
        connections.close_all()
        under_way.group.kill()


def as_row(figures: Figures) -> dict[str, object]:
    """Return the figures as plain data."""
    return asdict(figures)
