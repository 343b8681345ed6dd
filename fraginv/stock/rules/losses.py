"""How long a loss may be taken back."""

from datetime import timedelta
from typing import Final

UNDO_WITHIN: Final = timedelta(hours=1)
