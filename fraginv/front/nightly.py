"""What the timetable does, each as a task."""

from typing import Final

from fraginv.base.actions.keeping import prune_replay_keys
from fraginv.base.actions.prints import make_prints
from fraginv.base.actions.uploads import prune_uploads
from fraginv.base.tasks import later
from fraginv.front.queries.differences import differences
from fraginv.growth.actions.clearing import ask_again, drop_leftovers
from fraginv.growth.actions.paces import count_paces
from fraginv.people.actions.signing import prune_door
from fraginv.upkeep.actions.alarms import alarm, prune_alarms
from fraginv.upkeep.actions.checkups import record_checkup
from fraginv.upkeep.actions.tasks import prune_tasks

# Some two minutes of work.
PRINTS_A_NIGHT: Final = 1_000


@later(title="Verify everything", tries=2)
def verify() -> None:
    """Hold everything that must agree against each other, keep what was found, and tell of it."""
    if record_checkup(differences()).count:
        alarm("differences", place="verify")


@later(title="Clear away what is over", tries=2)
def clear() -> None:
    """Forget what is over: visits, tries at the door, uploads, and what was done long ago."""
    prune_door()
    prune_tasks()
    prune_alarms()
    prune_replay_keys()
    prune_uploads()
    drop_leftovers()
    ask_again()


@later(title="Count how fast varieties grow", tries=2)
def count_growth() -> None:
    """Count the usual days to ready, the growth and the survival of every variety anew."""
    count_paces()


@later(title="Make older pictures ready for papers", tries=2)
def make_pictures_ready() -> None:
    """Give a portion of the pictures from before there was a size for papers that size."""
    make_prints(limit=PRINTS_A_NIGHT)
