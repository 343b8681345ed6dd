"""Bring the reference tables in line with the data files."""

import csv
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.db.models import Model

from fraginv.base.transactions import one_transaction
from fraginv.taxa.models import Genus, ProtectedSpecies

DATA = Path(__file__).parent / "data"
YES_NO = {"yes": True, "no": False}


@one_transaction
def load_reference(
    genus: type[Model] = Genus, *, protected: type[Model] = ProtectedSpecies
) -> tuple[int, int]:
    """Bring both tables in line with the files; running it again changes nothing.

    Args: the models, which a migration passes in the form they had then.
    Returns: how many genera and how many species the files hold.
    Queries: two for each row.
    """
    return (
        load_file(DATA / "genera.csv", model=genus, key=("name",)),
        load_file(DATA / "protected_species.csv", model=protected, key=("genus", "species")),
    )


def load_file(path: Path, *, model: type[Model], key: Sequence[str]) -> int:
    """Write each row of a file under its key, and return how many rows there were.

    Columns that the model does not have (yet) are left out, so that an old
    migration can read a newer file.
    """
    known = {field.name for field in model._meta.fields}
    with path.open(encoding="utf-8", newline="") as handle:
        rows = [
            {name: YES_NO.get(value, value) for name, value in row.items() if name in known}
            for row in csv.DictReader(handle)
        ]
    for row in rows:
        found: dict[str, Any] = {name: row.pop(name) for name in key}
        model._default_manager.update_or_create(**found, defaults=row)
    return len(rows)
