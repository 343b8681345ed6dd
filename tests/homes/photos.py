"""Photos of a kept home: filed by their labels and by hand, measured, taken out again."""

import io
import uuid
from dataclasses import replace

from PIL import Image

from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import address
from fraginv.front.drawings.carded import Carded, draw_on_card
from fraginv.growth.actions.intake import open_batch, take_in
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.actions.paces import count_paces
from fraginv.growth.actions.photos import file_photo
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.actions.tray import discard, file_by_hand
from fraginv.growth.models import Photo
from fraginv.growth.queries.measuring import sized
from fraginv.growth.queries.sights import subject_of
from fraginv.growth.rules.drawn import Drawn
from fraginv.growth.rules.measured import OutlineBy
from fraginv.labels.actions.printing import start_run
from fraginv.stock.models import Frag
from tests.homes.house import House, picture

HEIGHT_MM = 18.0
SYMBOL_MM = 16.93
SHARE, QUALITY = 0.6, 60


def photograph(house: House) -> None:
    """Let photos come in, be filed, measured, measured again and taken out; count the paces."""
    by = house.crew["grower"]
    frag, other = Frag.objects.filter(pieces=1).order_by("pk")[:2]
    for stock in ("letter-66.7x25.4", "a4-63.5x33.9"):
        start_run([frag.code_id], by=by, stock=stock)
    batch = open_batch(uuid.uuid4(), by=by, rack=house.racks[0], scanned=[(other.code_id, "")])
    taken = [small(drawn(frag, age=age)) for age in (20, 45)]
    for number, one in enumerate(taken):
        take_in(one.jpeg, name=f"IMG_{number}.jpg", batch=batch)
    loose = [take_in(picture(2 + n), name=f"loose-{n}.jpg", batch=batch) for n in range(3)]
    file_by_hand(loose[0].pk, subject=other, by=by)
    discard(loose[1].pk, by=by)
    first, second = list(Photo.objects.filter(frag=frag).order_by("pk"))[-2:]
    measure(house, first, taken[0])
    measure(house, second, taken[1])
    measure(house, second, taken[1])
    counted = Drawn(heads_px=((100.0, 100.0), (120.0, 100.0)))
    mistaken = file_photo(other, data=picture(5), by=by)
    for photo in (Photo.objects.filter(frag=other).order_by("pk")[0], mistaken):
        subject = subject_of(photo.pk, mark=photo.mark)
        save_measurement(photo, sized=sized(subject, drawn=counted), by=by)
    take_out(mistaken.pk, by=by)
    file_photo(house.racks[0], data=picture(6), by=by)
    count_paces()


def small(one: Carded) -> Carded:
    """Return a photo with fewer pixels, for a home that is kept in the repository."""
    kept = io.BytesIO()
    with Image.open(io.BytesIO(one.jpeg)) as whole:
        size = round(whole.width * SHARE), round(whole.height * SHARE)
        whole.resize(size).save(kept, "JPEG", quality=QUALITY, exif=whole.getexif())
    outline = tuple(((x + 0.5) * SHARE - 0.5, (y + 0.5) * SHARE - 0.5) for x, y in one.outline_px)
    return replace(one, jpeg=kept.getvalue(), outline_px=outline)


def drawn(frag: Frag, *, age: int) -> Carded:
    """Draw a frag on the measuring card as old as that."""
    return draw_on_card(
        "soft",
        hue=60,
        seed=frag.pk,
        age=age,
        height_mm=HEIGHT_MM,
        address=address(organisation().label_host, frag.code_id),
        symbol_mm=SYMBOL_MM,
    )


def measure(house: House, photo: Photo, one: Carded) -> None:
    """Store the size of what was drawn."""
    asked = Drawn(height_mm=HEIGHT_MM, handles_px=one.outline_px, outline_by=OutlineBy.DRAWN)
    subject = subject_of(photo.pk, mark=photo.mark)
    save_measurement(photo, sized=sized(subject, drawn=asked), by=house.crew["grower"])
