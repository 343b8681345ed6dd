"""Photos, what is measured from them, and how fast varieties grow."""

from fraginv.growth.models.intake import Batch, Incoming
from fraginv.growth.models.measurements import Measurement
from fraginv.growth.models.paces import VarietyPace
from fraginv.growth.models.photos import Photo

__all__ = ["Batch", "Incoming", "Measurement", "Photo", "VarietyPace"]
