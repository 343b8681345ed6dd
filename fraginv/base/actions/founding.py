"""The organisation, its people, and the parties it deals with."""

from collections.abc import Iterable
from zoneinfo import available_timezones

from babel import Locale, UnknownLocaleError
from django.core.exceptions import ValidationError
from django.db.models import Model

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Organisation, Party, Person
from fraginv.base.passwords import refuse_weak
from fraginv.base.rules.codes import read_host
from fraginv.base.rules.money import exponent
from fraginv.base.rules.roles import Role
from fraginv.base.transactions import one_transaction


@one_transaction
def found_organisation(
    name: str,
    *,
    currency: str,
    zone: str,
    label_host: str,
    locale: str = "en_US",
    paper: str = Organisation.Paper.LETTER,
    contact: str = "",
    is_demo: bool = False,
) -> Organisation:
    """Write down whose tool this is.

    Raises: InputError for an empty name, an unknown currency, zone, locale or
        paper, or a host that is none; Conflict when there is an organisation already.
    """
    refuse_unknown(name, currency=currency, zone=zone, locale=locale)
    if Organisation.objects.exists():
        raise Conflict("There is an organisation already. Change it on its page.")
    organisation = Organisation(
        name=name.strip(),
        currency=currency.upper(),
        zone=zone,
        label_host=read_host(label_host),
        locale=locale,
        paper=paper,
        address=contact,
        is_demo=is_demo,
    )
    refuse_unfit(organisation)
    organisation.save(force_insert=True)
    return organisation


def refuse_unknown(name: str, *, currency: str, zone: str, locale: str) -> None:
    """Refuse what later figures and days could not be worked out with.

    Raises: InputError.
    """
    if not name.strip():
        raise InputError("The organisation needs a name.")
    exponent(currency.upper())
    known_zone(zone)
    try:
        Locale.parse(locale)
    except (ValueError, UnknownLocaleError) as error:
        raise InputError(f"{locale!r} is no locale. Write it as in en_US.") from error


def known_zone(zone: str) -> str:
    """Return a time zone's name.

    Raises: InputError for what is none.
    """
    if zone not in available_timezones():
        raise InputError(f"{zone!r} is no time zone. Write it as in America/New_York.")
    return zone


def refuse_unfit(row: Model) -> None:
    """Refuse a new row whose columns cannot hold what is in it.

    Raises: InputError naming each column that cannot.
    """
    try:
        row.clean_fields(exclude=["password"])
    except ValidationError as error:
        said = [f"{name}: {' '.join(told)}" for name, told in error.message_dict.items()]
        raise InputError(" ".join(said)) from error


@one_transaction
def add_person(username: str, *, name: str, role: Role, password: str, email: str = "") -> Person:
    """Let somebody sign in.

    Raises: InputError for a password that is too weak, an empty or long name, or
        no address; Conflict when the sign-in name is taken.
    """
    username, name, email = username.strip().lower(), name.strip(), email.strip()
    if not username or not name:
        raise InputError("A person needs a name and a sign-in name.")
    if Person.objects.filter(username=username).exists():
        raise Conflict(f"The sign-in name {username} is taken. Choose another.")
    person = Person(username=username, name=name, role=role.value, email=email)
    refuse_unfit(person)
    refuse_weak(password, person=person)
    return Person.objects.create_user(
        username, password, name=name, role=role.value, email=email, since=clock.now()
    )


@one_transaction
def add_party(name: str, *, email: str = "", phone: str = "", address: str = "") -> Party:
    """Write down a shop, a visitor, a supplier, an owner or a giver.

    Raises: InputError for an empty name, or what is too long or no address.
    """
    if not name.strip():
        raise InputError("A name is needed.")
    party = Party(
        name=name.strip(), email=email.strip(), phone=phone.strip(), address=address.strip()
    )
    refuse_unfit(party)
    party.save(force_insert=True)
    return party


@one_transaction
def party_named(name: str) -> tuple[Party, bool]:
    """Return the party of that name, made if there is none, and whether it was made.

    Queries: 1 or 2.
    """
    known = Party.objects.filter(name__iexact=name.strip()).order_by("pk").first()
    if known is not None:
        return known, False
    return add_party(name), True


@one_transaction
def parties_named(names: Iterable[str]) -> tuple[dict[str, Party], list[str]]:
    """Return the parties of many names, made where there are none, and the names made.

    Names that differ only in capitals are one party; the dictionary has every
    spelling that was asked for, an empty name none.
    Queries: 1, and 1 for each thousand that are made.
    """
    wanted = {name: name.strip().casefold() for name in names if name.strip()}
    if not wanted:
        return {}, []
    known: dict[str, Party] = {}
    for party in Party.objects.order_by("-pk"):
        known[party.name.casefold()] = party
    missing: dict[str, Party] = {}
    for name, folded in wanted.items():
        if folded not in known:
            missing.setdefault(folded, Party(name=name.strip()))
    made = Party.objects.bulk_create(missing.values(), batch_size=1_000)
    known |= {party.name.casefold(): party for party in made}
    return {name: known[folded] for name, folded in wanted.items()}, [p.name for p in made]
