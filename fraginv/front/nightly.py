"""What the timetable does, each as a task."""

from fraginv.base.actions.keeping import prune_replay_keys
from fraginv.base.actions.uploads import prune_uploads
from fraginv.base.tasks import later
from fraginv.front.queries.differences import differences
from fraginv.growth.actions.paces import count_paces
from fraginv.people.actions.signing import prune_door
from fraginv.upkeep.actions.alarms import alarm, prune_alarms
from fraginv.upkeep.actions.checkups import record_checkup
from fraginv.upkeep.actions.tasks import prune_tasks


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


@later(title="Count how fast varieties grow", tries=2)
def count_growth() -> None:
    """Count the usual days to ready, the growth and the survival of every variety anew."""
    count_paces()
