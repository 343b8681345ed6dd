"""Saying of a picture that it was sent twice, so that none seems to be lost."""

from fraginv.growth.models import Incoming
from fraginv.growth.rules.intake import said_in_short
from fraginv.growth.rules.strays import sent_twice


def note_twice(row: Incoming, *, name: str) -> Incoming:
    """Say of a picture of a batch that it was sent there again, and by what name; once for each.

    Lock: the picture's row. Queries: 2.
    """
    kept = Incoming.objects.select_for_update().get(pk=row.pk)
    said = sent_twice(name if name != kept.name else "")
    if said not in kept.said:
        kept.said = said_in_short(filter(None, [kept.said, said]))
        kept.save(update_fields=["said"])
    return kept
