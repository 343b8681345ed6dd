"""What is asked of the house: on the first run, and when something about it changes."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from babel import Locale
from babel.localedata import locale_identifiers
from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.actions.founding import known_zone
from fraginv.base.actions.organisation import HouseFacts
from fraginv.base.errors import InputError
from fraginv.base.models import Organisation, Person
from fraginv.base.passwords import refuse_weak
from fraginv.base.rules.codes import read_host
from fraginv.base.rules.money import exponent
from fraginv.front.actions import Founding, Owner, Tax
from fraginv.people.forms.accepting import new_password

HUNDRED = Decimal(100)
ENGLISH = 5  # letters of a locale such as en_US
ZONE_BOX = {"list": "zones", "autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
SHORT_BOX = {
    "list": "currencies",
    "autocomplete": "off",
    "autocapitalize": "characters",
    "spellcheck": "false",
}
HOST_BOX = {"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}


@cache
def ways_to_write() -> list[tuple[str, str]]:
    """List how dates and amounts can be written: English, as it is written in each land."""
    found = [name for name in locale_identifiers() if name[:3] == "en_" and len(name) == ENGLISH]
    lands = [(name, str(Locale.parse(name).territory_name)) for name in found]
    return sorted(lands, key=lambda land: land[1])


class HouseForm(forms.Form):
    """What is written down of the organisation."""

    name = forms.CharField(label="Name of the organisation", max_length=120)
    currency = forms.CharField(
        label="Currency",
        min_length=3,
        max_length=3,
        help_text="Its three letters, such as USD. It stays once an amount is written.",
        widget=forms.TextInput(attrs=SHORT_BOX),
    )
    zone = forms.CharField(
        label="Time zone",
        max_length=60,
        help_text="Such as America/New_York. Days and months are those of this zone; a change "
        "acts forward only.",
        widget=forms.TextInput(attrs=ZONE_BOX),
    )
    locale = forms.ChoiceField(label="Dates and amounts as written in", choices=[])
    paper = forms.ChoiceField(label="Paper", choices=Organisation.Paper.choices)
    label_host = forms.CharField(
        label="Host on labels",
        max_length=60,
        help_text="The name under which phones reach these pages. Every label carries it, so "
        "choose one that stays; up to 11 characters give the smallest symbol.",
        widget=forms.TextInput(attrs=HOST_BOX),
    )

    def clean_currency(self) -> str:
        """Refuse letters that are no currency."""
        return self.read("currency", lambda text: (exponent(text.upper()), text)[1])

    def clean_zone(self) -> str:
        """Refuse what is no time zone."""
        return self.read("zone", known_zone)

    def clean_label_host(self) -> str:
        """Refuse what is no host."""
        return self.read("label_host", read_host)

    def read(self, name: str, reader: Callable[[str], str]) -> str:
        """Read an answer, or say at its own question what is wrong with it.

        Raises: ValidationError.
        """
        try:
            return reader(str(self.cleaned_data[name]))
        except InputError as error:
            raise ValidationError(error.message) from error

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        choices, present = ways_to_write(), str(self.initial.get("locale", "en_US"))
        if present not in dict(choices):
            choices = [*choices, (present, present)]
        self.fields["locale"].choices = choices  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Begun:
    """All that a first run writes down."""

    founding: Founding | None
    owner: Owner
    tax: Tax | None


class BeginForm(HouseForm):
    """What a first run asks for; of an organisation that is there already, only its owner."""

    percent = forms.DecimalField(
        label="Sales tax in percent, state and local together",
        max_digits=7,
        decimal_places=4,
        min_value=0,
        max_value=100,
        required=False,
        help_text="Leave it empty where none is due. It can be set later, with the day from "
        "which it holds.",
    )
    tax_name = forms.CharField(
        label="Name of the tax on receipts", max_length=60, required=False, initial=Tax.name
    )
    owner = forms.CharField(
        label="Your name",
        max_length=80,
        help_text="You become the owner, and invite everybody else.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    password = new_password()

    def __init__(self, *args: Any, is_founded: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        self.is_founded = is_founded
        if is_founded:
            for name in (*HouseForm.base_fields, "percent", "tax_name"):
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        """Judge the password at its own question, together with all the others."""
        said = self.cleaned_data
        if "password" in said:
            person = Person(name=said.get("owner", ""))
            try:
                refuse_weak(said["password"], person=person)
            except InputError as error:
                self.add_error("password", error.message)
        return said

    def begun(self) -> Begun:
        """Return the answers."""
        said = self.cleaned_data
        owner = Owner(name=said["owner"], password=said["password"])
        if self.is_founded:
            return Begun(None, owner, None)
        founding = Founding(**{name: said[name] for name in HouseForm.base_fields})
        percent = said["percent"]
        tax = None if percent is None else Tax(percent / HUNDRED, said["tax_name"] or Tax.name)
        return Begun(founding, owner, tax)


class OrganisationForm(HouseForm):
    """What may be changed later, with what stands on papers."""

    address = forms.CharField(
        label="Address on papers",
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    email = forms.EmailField(label="E-mail on papers", required=False)
    phone = forms.CharField(label="Phone on papers", max_length=40, required=False)

    def facts(self) -> HouseFacts:
        """Return what may be changed at any time."""
        said = dict(self.cleaned_data)
        del said["currency"]
        return HouseFacts(**said)
