"""Django finds a package's tables here; this file only imports them."""

from fraginv.upkeep.models.backups import Backup
from fraginv.upkeep.models.checkups import Checkup
from fraginv.upkeep.models.work import Alarm, Beat, Turn

__all__ = ["Alarm", "Backup", "Beat", "Checkup", "Turn"]
