"""Django finds a package's tables here; this file only imports them."""

from fraginv.stock.models.claims import Claim
from fraginv.stock.models.colonies import Colony, Cutting, Variety
from fraginv.stock.models.frags import Frag, FragEvent
from fraginv.stock.models.places import Rack, System, Trough

__all__ = [
    "Claim",
    "Colony",
    "Cutting",
    "Frag",
    "FragEvent",
    "Rack",
    "System",
    "Trough",
    "Variety",
]
