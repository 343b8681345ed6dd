"""What a visitor sees: never costs, shop prices, customers, papers or positions."""

from collections.abc import Sequence
from dataclasses import dataclass

from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import Caution
from fraginv.front.rules.words import age_words, availability, is_offered
from fraginv.growth.models import Photo
from fraginv.growth.queries.photos import photo_for_variety, photo_for_visitors, photos_for_visitors
from fraginv.stock.models import Colony, Frag, Variety
from fraginv.stock.queries.cautions import poison_cautions
from fraginv.stock.queries.frags import free_pieces, standing_of
from fraginv.stock.rules.stages import SIZES
from fraginv.trade.queries.prices import retail_price
from fraginv.trade.rules.prices import Chosen


@dataclass(frozen=True)
class PublicFrag:
    """What may be read on the page that a label opens."""

    code: str
    variety: Variety
    age: str
    was_cut_here: bool
    size: str
    heads: int | None
    availability: str
    photo: Photo | None
    price: Chosen | None
    cautions: Sequence[Caution]


def public_frag(frag: Frag) -> PublicFrag:
    """Return what a visitor may read of a frag that was read by its code.

    Queries: 1, 1 more where the frag has no picture of its own, 1 more for a price.
    """
    standing = standing_of(frag)
    return PublicFrag(
        code=frag.code_id,
        variety=frag.variety,
        age=age_words(frag.cut_on, today=today()),
        was_cut_here=frag.cutting_id is not None,
        size=SIZES.get(frag.size, ""),
        heads=frag.heads,
        availability=availability(standing, free=free_pieces(frag)),
        photo=photo_for_visitors(frag),
        price=retail_price(frag, day=today()) if is_offered(standing) else None,
        cautions=poison_cautions(frag.variety.genus),
    )


def public_photo(colony: Colony) -> Photo | None:
    """Return the picture of a colony that a visitor may see.

    Queries: 1 or 2.
    """
    return photos_for_visitors(colony).first() or photo_for_variety(colony.variety)
