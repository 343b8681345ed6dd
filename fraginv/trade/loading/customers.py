"""Bringing in a table of customers."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from fraginv.base.errors import InputError
from fraginv.base.models import Party, Person
from fraginv.base.rules.columns import Column, column, day_column, text_column
from fraginv.base.rules.known import fold
from fraginv.base.rules.loads import LoadResult, named_first
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, trial
from fraginv.trade.actions.loaded_customers import DETAILS, CustomerDraft, write_customers
from fraginv.trade.models import Customer, CustomerKind
from fraginv.trade.rules.certificates import Certificate, check_certificate

LONGEST_EMAIL: Final = 254
LONGEST_ADDRESS, LONGEST_NOTE = 1000, 1000


def columns(currency: str | None = None) -> list[Column]:
    """Return the columns of the table."""
    return [
        text_column("name", longest=120),
        text_column("kind", longest=30),
        text_column("contact", longest=120, required=False),
        column("email", read_email, hint="an e-mail address", required=False, empty=""),
        text_column("phone", longest=40, required=False),
        text_column("address", longest=LONGEST_ADDRESS, required=False, line_breaks=True),
        text_column("note", longest=LONGEST_NOTE, required=False, line_breaks=True),
        text_column("certificate_state", longest=40, required=False),
        text_column("certificate_number", longest=60, required=False),
        day_column("certificate_from", required=False),
        day_column("certificate_until", required=False),
    ]


def read_email(cell: str) -> str:
    """Read an e-mail address.

    Raises: InputError.
    """
    try:
        validate_email(cell)
    except ValidationError as error:
        raise InputError(
            f"{cell[:60]} is no e-mail address; write one, as in shop@example.org."
        ) from error
    if len(cell) > LONGEST_EMAIL:
        raise InputError(f"The address has {len(cell)} characters; at most {LONGEST_EMAIL} fit.")
    return cell


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Raises: TableErrors as ``load``.
    Queries: 3.
    """
    return LoadResult(len(rows), said_of(drafts_of(rows)))


@one_transaction
def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    Somebody who is known already, as a supplier say, becomes the customer of that name.
    ``dry_run`` does the same and takes it back.
    Raises: TableErrors naming each row whose name is taken or there twice, whose kind there
        is not, or whose certificate is half filled in.
    Queries: 3, and 3 for each thousand rows, on SQLite more.
    """
    drafts = drafts_of(rows)
    with trial(dry_run):
        write_customers(drafts, by=by)
    return LoadResult(len(rows), said_of(drafts))


def said_of(drafts: Sequence[CustomerDraft]) -> list[str]:
    """Say who was known before, and is a customer too."""
    known = [draft.name for draft in drafts if draft.party is not None]
    if not known:
        return []
    return [
        f"Known already, and customers too now: {named_first(known)}. Their empty details "
        "are filled in."
    ]


def drafts_of(rows: Sequence[Row]) -> list[CustomerDraft]:
    """Turn rows into customers.

    Raises: TableErrors.
    Queries: 3.
    """
    taken = Customer.objects.values_list("party__name", flat=True)
    reading = Reading(
        taken={fold(name): 0 for name in taken},
        kinds={fold(kind.name): kind for kind in CustomerKind.objects.all()},
        parties={
            fold(party.name): party
            for party in Party.objects.filter(customer__isnull=True).order_by("-pk")
        },
    )
    drafts = [draft for row in rows if (draft := reading.draft_of(row))]
    if reading.problems:
        raise TableErrors(reading.problems)
    return drafts


@dataclass
class Reading:
    """What is known while rows are turned into customers, and what is wrong with them.

    Attributes: ``taken`` names with the line they stand on, 0 for customers there are.
    """

    taken: dict[str, int]
    kinds: dict[str, CustomerKind]
    parties: dict[str, Party]
    problems: list[Problem] = field(default_factory=list)

    def draft_of(self, row: Row) -> CustomerDraft | None:
        """Return a row's customer, or None and note what is wrong."""
        before = len(self.problems)
        name = " ".join(row["name"].split())
        self.take_name(name, line=row.line)
        kind = self.kinds.get(fold(row["kind"]))
        if kind is None:
            kinds = ", ".join(kind.name for kind in self.kinds.values())
            reason = f"{row['kind']} is no kind of customer; write one of: {kinds}."
            self.problems.append(Problem(row.line, "kind", reason))
        certificate = self.certificate_of(row)
        if kind is None or len(self.problems) > before:
            return None
        details = {name: row[name].strip() for name in DETAILS}
        return CustomerDraft(name, kind, self.parties.get(fold(name)), details, certificate)

    def take_name(self, name: str, *, line: int) -> None:
        """Note a name, and what is wrong where it is taken."""
        before = self.taken.setdefault(fold(name), line)
        if before == line:
            return
        there = f"stands on line {before} already" if before else "is a customer already"
        mend = "take the row out, or add what tells them apart, a town say."
        self.problems.append(Problem(line, "name", f"{name} {there}; {mend}"))

    def certificate_of(self, row: Row) -> Certificate:
        """Return a row's resale certificate, and note where it is half filled in."""
        certificate = Certificate(
            state=row["certificate_state"],
            number=row["certificate_number"],
            valid_from=row["certificate_from"],
            valid_until=row["certificate_until"],
        )
        try:
            check_certificate(certificate)
        except InputError as error:
            self.problems.append(Problem(row.line, "certificate_state", error.message))
        return certificate
