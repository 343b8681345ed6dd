"""What is asked of mother colonies, their papers, bars and leaving."""

from decimal import Decimal
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from fraginv.base.errors import InputError
from fraginv.base.fields import AmountField
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.documents import PDF
from fraginv.base.rules.money import decimal_text
from fraginv.base.rules.pictures import SUFFIXES, check_bytes
from fraginv.stock.forms.fields import RackField, prose, whole, words
from fraginv.stock.models import Colony
from fraginv.stock.queries.places import racks
from fraginv.stock.queries.stops import stops_in_water
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.rules.colonies import (
    BAR_KINDS,
    MOST_REST,
    ORIGINS,
    SOURCE_CODES,
    SOURCE_HELP,
)
from fraginv.stock.rules.cutting import MOST_PIECES
from fraginv.stock.rules.stages import CAUSES, SIZES

HUNDRED: Final = 100
LONGEST_PARTY: Final = 120
PAPERS: Final = ("supplier", "invoice", "permit", "source_code", "no_paper_because")
TERMS: Final = ("owner", "owner_percent", "owner_least")
CUTTING: Final = ("rest_days", "most_pieces")


def party(label: str, *, known: str, help_text: str = "", **more: Any) -> forms.CharField:
    """Ask for somebody by name: one who is known is offered, a new one is written down."""
    box = forms.TextInput(attrs={"list": known, "autocomplete": "off"})
    return words(label, most=LONGEST_PARTY, help_text=help_text, widget=box, **more)


class ColonyForm(forms.Form):
    """A coral kept to be cut from."""

    variety = forms.ModelChoiceField(label="Variety", queryset=varieties(), empty_label=None)
    origin = forms.ChoiceField(label="Origin", choices=list(ORIGINS.items()))
    acquired_on = forms.DateField(label="Here since", initial=today)
    rack = RackField(label="Rack", queryset=racks(), required=False, empty_label="Not in a rack")
    despite = words(
        "How it was found, where it leaves this water",
        most=200,
        help_text="Or why it leaves before its time, which a manager says.",
    )
    supplier = party("From whom", known="suppliers", help_text="A new name is written down.")
    invoice = words("Invoice or letter", most=80, help_text="Its number, or what it is.")
    permit = words("Permit", most=80, help_text="Its number, where there is one.")
    source_code = forms.ChoiceField(
        label="CITES source code",
        choices=[("", "Not known, or not needed"), *SOURCE_CODES.items()],
        required=False,
        help_text=SOURCE_HELP,
    )
    no_paper_because = words(
        "Why there is no paper", most=200, help_text="Only where neither is known."
    )
    rest_days = whole("Days of rest after a cutting", most=MOST_REST, initial=30)
    most_pieces = whole("Most pieces per cutting", least=1, most=MOST_PIECES, required=False)
    owner = party("Owner", known="suppliers", help_text="Leave empty where it is ours.")
    owner_percent = forms.DecimalField(
        label="The owner's share in percent",
        help_text="Of what its frags bring.",
        required=False,
        min_value=0,
        max_value=HUNDRED,
        decimal_places=2,
    )
    owner_least = AmountField(label="Least price of a piece in {currency}", required=False)
    note = prose("Note for the crew")

    def __init__(self, *args: Any, terms: bool, colony: Colony | None = None, **more: Any) -> None:
        if colony is not None:
            more["initial"] = initial_of(colony)
        super().__init__(*args, **more)
        dropped = [*([] if terms else TERMS), *(["variety"] if colony is not None else [])]
        if colony is None or not asks_why(colony):
            dropped.append("despite")
        for name in dropped:
            del self.fields[name]
        self.fields["rest_days"].required = False

    def values(self) -> dict[str, Any]:
        """Return what the actions take, with the names of parties as they were typed."""
        cleaned = dict(self.cleaned_data)
        if cleaned["rest_days"] is None:
            del cleaned["rest_days"]
        if "owner_percent" in cleaned:
            percent: Decimal | None = cleaned.pop("owner_percent")
            cleaned["owner_share"] = None if percent is None else int(percent * HUNDRED)
        return cleaned


def asks_why(colony: Colony) -> bool:
    """Tell whether it must be said why a colony leaves its rack: quarantine, or a stop-sale.

    Queries: 1 where it stands in other water than quarantine.
    """
    if colony.rack is None:
        return False
    trough = colony.rack.trough
    return trough.system.quarantine or stops_in_water(trough).exists()


def initial_of(colony: Colony) -> dict[str, Any]:
    """Return a colony's present as its form shows it."""
    share = colony.owner_share
    names = ("origin", "acquired_on", "rack", "invoice", "permit", "source_code", "rest_days")
    return {
        **{name: getattr(colony, name) for name in (*names, "most_pieces", "note")},
        "no_paper_because": colony.no_paper_because,
        "supplier": colony.supplier.name if colony.supplier else "",
        "owner": colony.owner.name if colony.owner else "",
        "owner_percent": None if share is None else Decimal(share) / HUNDRED,
        "owner_least": least_text(colony),
    }


def least_text(colony: Colony) -> str:
    """Return the least price of a colony's pieces as one would type it."""
    least = colony.owner_least
    return "" if least is None else decimal_text(least, currency=organisation().currency)


class BarForm(forms.Form):
    """What forbids to cut, sell and give a colony."""

    kind = forms.ChoiceField(
        label="What it is", choices=list(BAR_KINDS.items()), widget=forms.RadioSelect
    )
    because = words(
        "Reason", most=200, required=True, help_text="Who holds it, and until when, if known."
    )


class WhyForm(forms.Form):
    """Why, which must be said."""

    because = words("Why", most=200, required=True)


class BackForm(forms.Form):
    """Why a colony is here again."""

    because = words("Why", most=200)


class LeftForm(forms.Form):
    """When a colony left, and what there is to say of it."""

    day = forms.DateField(label="Day", initial=today)
    note = words("Note", most=200)


class DiedForm(LeftForm):
    """Of what a colony died."""

    cause = forms.ChoiceField(label="Cause", choices=list(CAUSES.items()), widget=forms.RadioSelect)
    field_order = ("cause", "day", "note")


class GivenForm(LeftForm):
    """To whom a colony was given."""

    to = party("To whom", known="suppliers", required=True)
    field_order = ("to", "day", "note")


class WholeForm(forms.Form):
    """At what size a whole colony is offered."""

    size = forms.ChoiceField(
        label="Size", choices=list(SIZES.items()), widget=forms.RadioSelect, initial="mini"
    )
    heads = whole("Heads or polyps", least=1, most=999, required=False)


class MotherForm(forms.Form):
    """How a frag is kept as a colony."""

    rest_days = whole("Days of rest after a cutting", most=MOST_REST, required=False)
    note = prose("Note for the crew")


class PaperForm(forms.Form):
    """A paper of a colony: a PDF or a photo of it."""

    paper = forms.FileField(
        label="Paper",
        help_text="A PDF of at most 10 MB, or a photo of the paper.",
        widget=forms.FileInput(attrs={"accept": ",".join([*SUFFIXES, PDF])}),
    )
    title = words(
        "What it is", most=80, required=True, help_text="Such as invoice, permit or letter."
    )

    def clean_paper(self) -> "UploadedFile[bytes]":
        """Refuse a file that is too large before it is read."""
        paper: UploadedFile[bytes] = self.cleaned_data["paper"]
        try:
            check_bytes(paper.size or 0)
        except InputError as error:
            raise ValidationError(error.message) from error
        return paper
