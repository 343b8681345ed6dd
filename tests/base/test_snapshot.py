"""What is read in one snapshot is as of one moment, and nobody waits for it."""

from collections.abc import Generator

import pytest
from django.db import InternalError, connection, transaction

from fraginv.base.models import NumberSeries, Organisation
from fraginv.base.transactions import one_snapshot
from tests.together import together


@pytest.fixture
def row(transactional_db: None, organisation: Organisation) -> NumberSeries:
    return NumberSeries.objects.create(series="Z", year=2026, last=1)


def last(row: NumberSeries) -> int:
    return NumberSeries.objects.get(pk=row.pk).last


def write_elsewhere(row: NumberSeries, value: int) -> None:
    """Change the row on another connection, and expect that it need not wait."""

    def write(changed: int) -> int:
        with transaction.atomic():
            return NumberSeries.objects.filter(pk=row.pk).update(last=changed)

    assert together(write, on=[value]) == [1]


def test_a_snapshot_does_not_see_what_others_write_meanwhile(row: NumberSeries) -> None:
    with one_snapshot():
        assert last(row) == 1
        write_elsewhere(row, 2)
        assert last(row) == 1
    assert last(row) == 2
    assert not connection.in_atomic_block


def test_a_reader_that_stops_early_leaves_no_transaction_open(row: NumberSeries) -> None:
    def read() -> Generator[int, None, None]:
        with one_snapshot():
            yield last(row)
            yield last(row)

    reader = read()
    assert next(reader) == 1
    reader.close()
    write_elsewhere(row, 3)
    assert last(row) == 3
    with transaction.atomic():
        NumberSeries.objects.filter(pk=row.pk).update(last=4)
    assert last(row) == 4


def test_inside_a_transaction_it_reads_what_that_one_wrote(row: NumberSeries) -> None:
    with transaction.atomic():
        NumberSeries.objects.filter(pk=row.pk).update(last=5)
        with one_snapshot():
            assert last(row) == 5
    assert last(row) == 5


def test_on_postgresql_nothing_can_be_written_in_it(row: NumberSeries) -> None:
    if connection.vendor == "postgresql":
        with pytest.raises(InternalError, match="read-only transaction"), one_snapshot():
            NumberSeries.objects.filter(pk=row.pk).update(last=6)
    assert last(row) == 1
