"""Cutting out of a rack's photo the part of each frag whose label it shows."""

from collections.abc import Sequence
from dataclasses import dataclass

from fraginv.base.actions.files import store_unpacked, unpack_picture
from fraginv.base.models import Person, StoredFile
from fraginv.base.pixels import cut_outs
from fraginv.base.transactions import one_transaction
from fraginv.growth.actions.photos import log_photo
from fraginv.growth.models import Photo
from fraginv.growth.rules.intake import Named, Seen
from fraginv.growth.rules.parts import part_of


@dataclass(frozen=True)
class Part:
    """A frag's part of a photo of many: where it begins in it, and its picture."""

    frag_id: int
    left: int
    top: int
    file: StoredFile


def keep_parts(
    data: bytes, *, frags: Sequence[Named], labels: Sequence[Seen], size: tuple[int, int]
) -> list[Part]:
    """Cut the parts of frags out of a picture and keep each as a picture of its own.

    Each is written by itself: the rows that show them follow together. Twice does no harm,
    for the same part has the same bytes.
    Args: ``labels`` that were read, ``size`` of the upright picture in pixels.
    Raises: InputError as ``cut_outs``.
    Queries: 3 for each.
    """
    by_code = {label.code: label for label in labels}
    width, height = size
    boxes = {
        frag.pk: part_of(by_code[frag.code], labels=labels, width=width, height=height)
        for frag in frags
    }
    parts = []
    for (pk, box), cut in zip(boxes.items(), cut_outs(data, boxes=boxes.values()), strict=True):
        parts.append(Part(pk, box[0], box[1], store_unpacked(unpack_picture(cut))))
    return parts


@one_transaction
def file_parts(whole: Photo, *, parts: Sequence[Part], by: Person) -> list[Photo]:
    """File parts of a photo under their frags, whose logs say so; those that are there stay.

    Of a photo that was taken out meanwhile no part is filed.
    Lock: the photo, then the frags' rows by id.
    Queries: 1, and 5 for each part.
    """
    if Photo.objects.select_for_update().filter(pk=whole.pk).first() is None:
        return []
    found = []
    for part in sorted(parts, key=lambda one: one.frag_id):
        photo, is_new = Photo.objects.get_or_create(
            file=part.file,
            frag_id=part.frag_id,
            defaults={
                "part_of": whole,
                "left": part.left,
                "top": part.top,
                "taken_at": whole.taken_at,
                "taken_on": whole.taken_on,
                "by": by,
                "filed_at": whole.filed_at,
            },
        )
        if is_new:
            log_photo(photo, frag_id=part.frag_id, by=by)
        found.append(photo)
    return found
