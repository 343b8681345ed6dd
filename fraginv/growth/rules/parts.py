"""Which part of a photo of many frags is each frag's own."""

from collections.abc import Sequence
from math import ceil, floor
from typing import Final

from fraginv.growth.rules.intake import Seen

Box = tuple[int, int, int, int]

# A plug is as wide as two symbols and stands beside one. Common practice, no source.
WIDTHS: Final = 3.5
# A plug stands on one side of its label, often beyond the middle between two labels: half
# the way would cut it through, so a part reaches three quarters of the way.
REACH: Final = 0.75


def part_of(label: Seen, *, labels: Sequence[Seen], width: int, height: int) -> Box:
    """Return the part of a picture in which a label's own frag stands.

    It reaches towards the next label on each side, and not further than some symbols.
    Args: ``labels`` are all in the picture; its size in pixels.
    Returns: left, top, right and bottom in pixels, within the picture.
    """
    x, y = label.centre
    most = WIDTHS * label.side
    left = right = up = down = most
    for other in labels:
        if other is label:
            continue
        dx, dy = other.centre[0] - x, other.centre[1] - y
        if max(abs(dx), abs(dy)) <= label.side / 2:  # the same symbol, found twice
            continue
        if abs(dx) >= abs(dy):
            right, left = (
                (min(right, REACH * dx), left) if dx > 0 else (right, min(left, -REACH * dx))
            )
        else:
            down, up = (min(down, REACH * dy), up) if dy > 0 else (down, min(up, -REACH * dy))
    return (
        max(0, floor(x - left)),
        max(0, floor(y - up)),
        min(width, ceil(x + right)),
        min(height, ceil(y + down)),
    )
