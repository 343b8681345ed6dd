"""What recurs: the one table. A job is done once each time, however many workers there are."""

from collections.abc import Sequence

from django.conf import settings

from fraginv.base.rules.timetable import Daily
from fraginv.front import nightly
from fraginv.upkeep.actions.nightly import nightly_backup
from fraginv.upkeep.actions.turns import Job

JOBS: Sequence[Job] = (
    Job("nightly backup", Daily(settings.ENVIRONMENT.backups_at), nightly_backup),
    Job("nightly verify", Daily("04:10"), nightly.verify),
    Job("nightly growth", Daily("04:30"), nightly.count_growth),
    Job("nightly clearing", Daily("04:40"), nightly.clear),
    Job("nightly prints", Daily("04:50"), nightly.make_pictures_ready),
)
