"""All that a typed text may mean, each with how closely it fits."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Final

from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from fraginv.base.models import Code, OldCode, Person
from fraginv.base.queries.words import begins, first_named_of
from fraginv.base.rules.codes import CodeError, address_path, read_code, show_code
from fraginv.base.rules.old_codes import fold_old_code
from fraginv.base.rules.roles import Right
from fraginv.front.queries.rows import (
    FragRow,
    codes_beginning_with,
    codes_ending_in,
    listed,
    rows_of,
)
from fraginv.front.rules.finding import KINDS, Fit, best_fit, fit_of_group, fit_of_name, rank_of
from fraginv.stock.models import Colony, Rack, System, Trough, Variety
from fraginv.stock.queries import places
from fraginv.stock.queries.varieties import KIND as VARIETY
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.rules.stages import say_trouble
from fraginv.taxa.queries import genera_beginning
from fraginv.taxa.rules import GROUP_NAMES
from fraginv.trade.queries.finding import KIND as CUSTOMER
from fraginv.trade.queries.finding import customers_with, sale_of_paper

SHOWN: Final = 40
FEW_VARIETIES: Final = 20
LEAST_OF_A_CODE: Final = 4
LEAST_OF_AN_OLD_CODE: Final = 2
FRAGS: Final = "front:frags"


@dataclass(frozen=True)
class Answer:
    """One thing that a text may mean; ``row`` where it is a frag as lists show it."""

    fit: Fit
    kind: str
    title: str
    note: str
    url: str
    row: FragRow | None = None

    @property
    def rank(self) -> int:
        """Return where this stands among other answers, 0 for the best."""
        return rank_of(self.fit, kind=self.kind)

    @property
    def kind_word(self) -> str:
        """Return the word for what kind of thing this is."""
        return KINDS[self.kind]


def answers_to(text: str, *, reader: Person) -> list[Answer]:
    """Return all that a text may mean for a reader, in no order; customers and papers by right.

    Queries: 2 for names, and 1 for each kind of thing that is so named; 1 to 5 for what may
        be a code, and 1 for each kind of thing that carries it; 1 for a paper.
    """
    wanted = " ".join(text.split())
    if not wanted:
        return []
    sees_customers = reader.can(Right.SEE_CUSTOMERS)
    kinds = [VARIETY, places.SYSTEM, places.TROUGH, places.RACK]
    ids = first_named_of(wanted, kinds=[*kinds, CUSTOMER] if sees_customers else kinds)
    found = [*coded(wanted), *named(wanted, ids[VARIETY]), *placed(wanted, ids)]
    found += customers(wanted, ids[CUSTOMER]) if sees_customers else []
    found += papers(wanted) if reader.can(Right.SEE_PAPERS) else []
    return found


def coded(text: str) -> Iterator[Answer]:
    """Yield what carries a code that was typed: whole, its end or beginning, or an old one.

    By the end of a code only what is here now is found.
    """
    fits = codes_meant(text)
    if not fits:
        return
    kinds = dict(Code.objects.filter(pk__in=fits).values_list("pk", "kind"))
    of_kind: dict[str, list[str]] = {}
    for code, kind in kinds.items():
        of_kind.setdefault(kind, []).append(code)
    yield from frags_with(of_kind.get(Code.Kind.FRAG, []), fits=fits)
    yield from colonies_with(of_kind.get(Code.Kind.COLONY, []), fits=fits)
    yield from racks_with(of_kind.get(Code.Kind.RACK, []), fits=fits)
    for code in of_kind.get(Code.Kind.BLANK, []):
        if fits[code] is Fit.CODE:
            yield Answer(Fit.CODE, "label", show_code(code), "not in use yet", address_path(code))


def codes_meant(text: str) -> dict[str, Fit]:
    """Return codes that a text may mean, each with its closest fit.

    Queries: 1 for a whole code, 1 for three characters, 1 for four and more, 2 for old codes.
    """
    typed = "".join(each for each in text if each.isalnum())
    found: dict[str, Fit] = {}
    if len(typed) >= LEAST_OF_A_CODE:
        found |= dict.fromkeys(codes_beginning_with(text), Fit.CODE_BEGINS)
    folded = fold_old_code(text)
    if len(folded) >= LEAST_OF_AN_OLD_CODE:
        old = OldCode.objects.filter(begins(folded, column="folded")).order_by("folded", "pk")
        for code, mark in reversed(old.values_list("code_id", "folded")[:SHOWN]):
            found[code] = Fit.OLD if mark == folded else Fit.OLD_BEGINS
    found |= dict.fromkeys(codes_ending_in(text), Fit.END)
    with suppress(CodeError):
        found[read_code(text)] = Fit.CODE
    return found


def frags_with(codes: list[str], *, fits: Mapping[str, Fit]) -> Iterator[Answer]:
    """Yield the frags that carry codes; those that ended only for their whole or old code.

    Queries: 1, or none where there are no codes.
    """
    if not codes:
        return
    ended = [code for code in codes if fits[code] not in {Fit.END, Fit.CODE_BEGINS}]
    there = listed().filter(code__in=codes).filter(Q(pieces__gte=1) | Q(code__in=ended))
    for row in rows_of(there[:SHOWN]):
        frag = row.frag
        stands = [frag.stage, say_trouble(frag.wrong)] if frag.pieces else [frag.stage]
        note = ", ".join(filter(None, [show_code(frag.code_id), *stands, row.place]))
        url = address_path(frag.code_id)
        yield Answer(fits[frag.code_id], "frag", frag.variety.name, note, url, row)


def colonies_with(codes: list[str], *, fits: Mapping[str, Fit]) -> Iterator[Answer]:
    """Yield the colonies that carry codes.

    Queries: 1, or none where there are no codes.
    """
    if codes:
        found = Colony.objects.select_related("variety", "rack__trough").filter(code__in=codes)
        for colony in found.order_by("pk")[:SHOWN]:
            yield answer_of_colony(colony, fit=fits[colony.code_id])


def racks_with(codes: list[str], *, fits: Mapping[str, Fit]) -> Iterator[Answer]:
    """Yield the racks that carry codes.

    Queries: 1, or none where there are no codes.
    """
    if codes:
        for rack in places.racks().filter(code__in=codes)[:SHOWN]:
            yield answer_of_rack(rack, fit=fits[rack.code_id])


def answer_of_colony(colony: Colony, *, fit: Fit) -> Answer:
    """Return a colony that was read with variety and place as an answer."""
    note = ", ".join(filter(None, [show_code(colony.code_id), str(colony.rack or "")]))
    return Answer(fit, "colony", colony.variety.name, note, address_path(colony.code_id))


def answer_of_rack(rack: Rack, *, fit: Fit) -> Answer:
    """Return a rack that was read with trough and system as an answer."""
    note = f"{rack.trough.system.name}, {show_code(rack.code_id)}"
    return Answer(fit, "rack", str(rack), note, address_path(rack.code_id))


def named(text: str, found: Sequence[int]) -> Iterator[Answer]:
    """Yield varieties that were found by name with their colonies, genera and groups.

    Queries: 3, or 1 where no variety was found.
    """
    list_of = reverse(FRAGS)
    kinds = {variety.pk: variety for variety in varieties().filter(pk__in=found)}
    fits = {pk: fit_of_name(text, name=variety.name) for pk, variety in kinds.items()}
    for pk, variety in kinds.items():
        url = f"{list_of}?variety={pk}"
        yield Answer(fits[pk], "variety", variety.name, variety.latin, url)
    yield from genera(text)
    for group, name in GROUP_NAMES.items():
        as_group = fit_of_group(text, group=group)
        if as_group is not None:
            yield Answer(as_group, "group", name, "", f"{list_of}?group={group}")
    nearest = sorted(kinds, key=lambda pk: (rank_of(fits[pk], kind="variety"), kinds[pk].name))
    yield from colonies_of({pk: kinds[pk] for pk in nearest[:FEW_VARIETIES]}, fits=fits)


def genera(text: str) -> Iterator[Answer]:
    """Yield genera that are so named and have a variety here.

    Queries: 1.
    """
    has_one = Exists(Variety.objects.filter(genus=OuterRef("pk")))
    for genus in genera_beginning(text).filter(has_one)[:SHOWN]:
        fits_of = {name: fit_of_name(text, name=name) for name in genus.names}
        fit = best_fit(fits_of.values())
        other = next(name for name in fits_of if fits_of[name] is fit)
        note = genus.family if other == genus.name else f"{genus.family}, also {other}"
        yield Answer(fit, "genus", genus.name, note, f"{reverse(FRAGS)}?genus={genus.pk}")


def colonies_of(kinds: Mapping[int, Variety], *, fits: Mapping[int, Fit]) -> Iterator[Answer]:
    """Yield the colonies of varieties that were found by name.

    Queries: 1, or none where there are no varieties.
    """
    if not kinds:
        return
    found = Colony.objects.select_related("rack__trough").filter(variety__in=list(kinds))
    for colony in found.order_by("pk")[:SHOWN]:
        colony.variety = kinds[colony.variety_id]
        yield answer_of_colony(colony, fit=fits[colony.variety_id])


def placed(text: str, found: Mapping[str, Sequence[int]]) -> Iterator[Answer]:
    """Yield systems, troughs and racks that were found by name.

    Queries: 1 for each kind that was found.
    """
    list_of = reverse(FRAGS)
    for system in System.objects.filter(pk__in=found[places.SYSTEM]):
        fit = fit_of_name(text, name=system.name)
        yield Answer(fit, "system", system.name, "", f"{list_of}?system={system.pk}")
    for trough in Trough.objects.select_related("system").filter(pk__in=found[places.TROUGH]):
        fit = fit_of_name(text, name=trough.name)
        url = f"{list_of}?trough={trough.pk}"
        yield Answer(fit, "trough", trough.name, trough.system.name, url)
    for rack in places.racks().filter(pk__in=found[places.RACK]):
        fit = best_fit(fit_of_name(text, name=name) for name in (rack.name, str(rack)))
        yield answer_of_rack(rack, fit=fit)


def papers(text: str) -> Iterator[Answer]:
    """Yield the sale whose number, or the number of a payment or credit of it, was typed.

    Queries: 1 where the text looks like a number, else none.
    """
    sale = sale_of_paper(text)
    if sale is not None:
        yield Answer(Fit.PAPER, "paper", text.upper(), "", reverse("trade:sale", args=[sale]))


def customers(text: str, found: Sequence[int]) -> Iterator[Answer]:
    """Yield customers that were found by name, contact or address.

    Queries: 1, or none where none was found.
    """
    for customer in customers_with(found):
        party = customer.party
        fit = best_fit(fit_of_name(text, name=name) for name in (party.name, party.contact))
        url = reverse("trade:customer", args=[customer.pk])
        yield Answer(fit, "customer", str(customer), str(customer.kind), url)
