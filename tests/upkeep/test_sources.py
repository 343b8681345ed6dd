"""Values on their way from one engine to the other, as the server itself writes them."""

import io
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

import psycopg
import pytest
from django.db import models
from django.db.models import Value
from psycopg import sql
from psycopg.types.json import Jsonb

from fraginv.base.errors import InputError
from fraginv.stock.models import FragEvent
from fraginv.upkeep.actions.rows import put_batches, put_rows
from fraginv.upkeep.models import Alarm
from fraginv.upkeep.queries.history import last_of_each, models_at
from fraginv.upkeep.queries.sources import row_of, rows_of_dump, value_of
from fraginv.upkeep.rules.copy_text import fields_of

DAY = date(2026, 2, 28)


@pytest.mark.xdist_group("other engine")
@pytest.mark.parametrize(
    ("field", "kind", "value"),
    [
        (models.BooleanField(), "boolean", True),
        (models.BooleanField(), "boolean", False),
        (models.BigIntegerField(), "bigint", 2**63 - 1),
        (models.BigIntegerField(), "bigint", 1 - 2**63),
        (
            models.DecimalField(max_digits=20, decimal_places=6),
            "numeric(20,6)",
            Decimal("-0.000001"),
        ),
        (models.DecimalField(max_digits=20, decimal_places=6), "numeric", Decimal("99999999999.5")),
        (models.FloatField(), "double precision", 0.1 + 0.2),
        (models.DateTimeField(), "timestamptz", datetime(2026, 3, 8, 6, 59, 59, 999_999, UTC)),
        (models.DateTimeField(), "timestamptz", datetime(1850, 1, 1, 12, tzinfo=UTC)),
        (models.DateField(), "date", DAY),
        (models.TimeField(), "time", time(23, 59, 59, 1)),
        (models.DurationField(), "interval", timedelta(days=-3, hours=4, microseconds=5)),
        (models.UUIDField(), "uuid", UUID("12345678123456781234567812345678")),
        (models.GenericIPAddressField(), "inet", "2001:db8::1"),
        (models.BinaryField(), "bytea", b"\x00\\x\xff\n\t"),
        (models.TextField(), "text", "tab\t, line\n, return\r, back\\slash, \\N, \\., é 🐠"),
        (models.TextField(), "text", ""),
        (models.JSONField(), "jsonb", {"a": [1, None, "ü\\n\n🐠"], "b": {"c": 2.5}}),
        (models.JSONField(), "jsonb", "text"),
    ],
)
def test_a_value_comes_back_equal(
    any_server: str, field: "models.Field[Any, Any]", kind: str, value: Any
) -> None:
    sent = Jsonb(value) if kind == "jsonb" else value
    query = sql.SQL("COPY (SELECT {}::{}) TO STDOUT").format(sql.Literal(sent), sql.SQL(kind))
    url = f"{any_server}/postgres"
    with (
        psycopg.connect(url, options="-c timezone=UTC") as session,
        session.cursor().copy(query) as copy,
    ):
        data = b"".join(bytes(part) for part in copy)
    (text,) = fields_of(data)
    assert text is not None
    assert value_of(text, field=field) == value


def test_null_of_json_is_not_no_value() -> None:
    field = FragEvent._meta.get_field("body")
    row = row_of(b"null\n", model=FragEvent, fields=[field])
    assert isinstance(row.body, Value)  # type: ignore[attr-defined]
    assert row_of(b"\\N\n", model=FragEvent, fields=[field]).body is None  # type: ignore[attr-defined]


def dump(rows: str, *, columns: str = "id, kind, hour, times") -> list[bytes]:
    """Return a dump with rows of one table."""
    text = f"COPY public.upkeep_alarm ({columns}) FROM stdin;\n{rows}\\.\n"
    return io.BytesIO(text.encode()).readlines()


HOUR = datetime(2026, 11, 25, 17, tzinfo=UTC)
ALARMS = {"upkeep_alarm": Alarm}


@pytest.mark.django_db
def test_rows_of_a_dump_take_the_place_of_what_was_there() -> None:
    Alarm.objects.create(kind="from a migration", hour=HOUR)
    lines = dump("7\ta\\tb\t2026-11-25 12:00:00-05\t2\n9\t\t2026-11-25 17:00:00+00\t1\n")
    put_batches(lambda: rows_of_dump(lines, tables=ALARMS), tables=ALARMS)
    rows = list(Alarm.objects.order_by("pk").values_list("pk", "kind", "hour", "times"))
    assert rows == [(7, "a\tb", HOUR, 2), (9, "", HOUR, 1)]
    assert Alarm.objects.create(kind="new", hour=HOUR).pk == 10


@pytest.mark.parametrize(
    ("lines", "match"),
    [
        pytest.param(dump("7\ta\n"), "A row of upkeep_alarm is damaged", id="short row"),
        pytest.param(dump("seven\ta\t2026-11-25\t1\n"), "must be an integer", id="no number"),
        pytest.param(
            dump("7\t\\N\t2026-11-25 17:00:00+00\t1\n"), "Rows of upkeep_alarm", id="no kind"
        ),
        pytest.param(
            dump("7\ta\t2026-11-25 17:00:00+00\t1\n" * 2), "Rows of upkeep_alarm", id="twice"
        ),
        pytest.param(dump("7\ta\n", columns="id, kind"), "other columns than", id="columns"),
    ],
)
@pytest.mark.django_db(transaction=True)
def test_rows_that_cannot_be_taken_over(lines: list[bytes], match: str) -> None:
    kept = Alarm.objects.create(kind="kept", hour=HOUR)
    with pytest.raises(InputError, match=match):
        put_rows(lambda: rows_of_dump(lines, tables=ALARMS), tables=ALARMS)
    assert list(Alarm.objects.all()) == [kept]


def test_tables_of_an_earlier_day() -> None:
    early = models_at([("base", "0001_initial")])
    assert "email" not in {field.name for field in early["base_person"]._meta.get_fields()}
    assert "django_migrations" in early
    had = [
        ("base", "0001_initial"),
        ("base", "0002_hash_of_what_is_kept"),
        ("auth", "0001_initial"),
    ]
    assert last_of_each(had) == [("auth", "0001_initial"), ("base", "0002_hash_of_what_is_kept")]
