"""A small stock with prices and pictures, for tests of the sheet."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from fraginv.growth.actions.photos import file_photo
from fraginv.growth.models import Photo
from fraginv.stock.models import Frag, Variety
from fraginv.trade.actions.pricing import set_price
from fraginv.trade.models import CustomerKind
from fraginv.trade.rules.words import Unit
from tests.base.test_pictures import make_picture
from tests.factories import make_colony, make_frags, make_variety
from tests.trade.rows import LONG_AGO, Shop

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)


def stand(shop: Shop, variety: Variety, *, sizes: str = "M", **fields: Any) -> list[Frag]:
    """Let one ready frag of a variety stand for each letter of ``sizes``."""
    colony = make_colony(shop.manager, variety=variety)
    return [
        make_frags(shop.manager, 1, ready=True, size=size, colony=colony, **fields)[0]
        for size in sizes
    ]


def price(
    shop: Shop, amount: int, *, kind: CustomerKind | None = None, unit: Unit = Unit.PIECE, **to: Any
) -> None:
    """Set a price that holds since long ago, retail unless another kind is given."""
    set_price(
        amount, kind=kind or shop.retail, unit=unit, first_day=LONG_AGO, by=shop.manager, **to
    )


def picture(shop: Shop, frag: Frag, *, shade: int = 0) -> Photo:
    """File a picture of a frag; another shade makes another picture."""
    return file_photo(frag, data=make_picture(size=(400 + shade, 300)), by=shop.manager)


def varieties(shop: Shop, *named: tuple[str, str]) -> Sequence[Variety]:
    """Make varieties by name and genus."""
    return [make_variety(shop.manager, name=name, genus=genus) for name, genus in named]
