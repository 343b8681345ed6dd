"""Django finds a package's tables here; this file only imports them."""

from fraginv.stock.models.claims import Claim
from fraginv.stock.models.colonies import Bar, Colony, ColonyEvent, ColonyPaper
from fraginv.stock.models.cuttings import Arrival, Cutting
from fraginv.stock.models.frags import Frag, FragEvent
from fraginv.stock.models.losses import Loss
from fraginv.stock.models.places import Rack, RackCount, RackEvent, System, Trough
from fraginv.stock.models.stops import StopSale
from fraginv.stock.models.varieties import Variety
from fraginv.stock.models.water import WaterEntry

__all__ = [
    "Arrival",
    "Bar",
    "Claim",
    "Colony",
    "ColonyEvent",
    "ColonyPaper",
    "Cutting",
    "Frag",
    "FragEvent",
    "Loss",
    "Rack",
    "RackCount",
    "RackEvent",
    "StopSale",
    "System",
    "Trough",
    "Variety",
    "WaterEntry",
]
