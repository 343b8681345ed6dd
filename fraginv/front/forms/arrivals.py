"""What is asked when pieces come in from elsewhere."""

from collections.abc import Sequence
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from fraginv.base.fields import AmountField
from fraginv.base.queries.organisation import today
from fraginv.costs.forms import PAID_BY, SETTLED
from fraginv.stock.actions.arrivals import Incoming, Papers
from fraginv.stock.forms.colonies import party
from fraginv.stock.forms.fields import CODE_BOX, RackField, whole, words
from fraginv.stock.models import Variety
from fraginv.stock.queries.places import quarantine_racks, racks
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.rules.colonies import ARRIVING, SOURCE_CODES, SOURCE_HELP, Origin
from fraginv.stock.rules.stages import MEDIUMS

ROWS: Final = 6
PAPERS: Final = ("supplier", "invoice", "permit", "source_code", "note")
COST: Final = ("cost", "settled", "paid_by")
LABELS: Final = ("first_code", "medium", "day")


def cost_fields() -> dict[str, forms.Field]:
    """Return the questions about what pieces cost, for who may enter bills."""
    return {
        "cost": AmountField(
            label="What all of them cost, in {currency}",
            required=False,
            help_text="It becomes a bill of livestock, for the frags alone.",
        ),
        "settled": forms.ChoiceField(
            label="How the bill stands", choices=SETTLED, widget=forms.RadioSelect, initial="paid"
        ),
        "paid_by": forms.ChoiceField(
            label="Paid from",
            choices=PAID_BY,
            widget=forms.RadioSelect,
            initial=PAID_BY[0][0],
            help_text="Counts only for a bill that is paid.",
        ),
    }


class ReceiveForm(forms.Form):
    """Pieces of one or several varieties that come in together."""

    origin = forms.ChoiceField(
        label="How they came", choices=list(ARRIVING.items()), initial=Origin.BOUGHT.value
    )
    rack = RackField(
        label="Into the rack",
        queryset=racks(),
        empty_label=None,
        help_text="What is new goes into quarantine.",
    )
    no_quarantine_because = words(
        "Why they need no quarantine", most=200, help_text="Only for the display's own water."
    )
    supplier = party("From whom", known="suppliers", help_text="A new name is written down.")
    invoice = words("Invoice", most=80)
    permit = words("Permit", most=80)
    source_code = forms.ChoiceField(
        label="CITES source code",
        choices=[("", "Not known, or not needed"), *SOURCE_CODES.items()],
        required=False,
        help_text=SOURCE_HELP,
    )
    note = words("Note", most=300)
    day = forms.DateField(label="Day", initial=today)
    medium = forms.ChoiceField(
        label="On", choices=list(MEDIUMS.items()), widget=forms.RadioSelect, initial="plug"
    )
    first_code = words(
        "First printed label",
        most=200,
        help_text="The first blank one of the row that you use. Leave empty to print afterwards.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )

    def __init__(self, *args: Any, costs: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        for row in range(1, ROWS + 1):
            self.fields |= row_fields(row)
        if costs:
            self.fields |= cost_fields()
        if not self.is_bound:
            self.initial.setdefault("rack", quarantine_racks().values_list("pk", flat=True).first())

    def rows(self) -> list[Sequence[BoundField]]:
        """Return the questions of each variety, row by row."""
        return [[self[name] for name in row_fields(row)] for row in range(1, ROWS + 1)]

    def clean(self) -> dict[str, Any]:
        """Refuse a row of which only a part was filled."""
        asked = self.cleaned_data
        for row in range(1, ROWS + 1):
            variety, pieces = asked.get(f"variety_{row}"), asked.get(f"pieces_{row}")
            if variety and not pieces and f"pieces_{row}" not in self.errors:
                self.add_error(f"pieces_{row}", "Say how many pieces of it came in.")
            if pieces and not variety and f"variety_{row}" not in self.errors:
                self.add_error(f"variety_{row}", "Choose the variety.")
        if not self.errors and not self.items():
            raise ValidationError("Say what came in: a variety, and how many pieces.")
        return asked

    def items(self) -> list[Incoming]:
        """Return what came in, of the rows that are filled."""
        asked = self.cleaned_data
        return [
            Incoming(asked[f"variety_{row}"], asked[f"pieces_{row}"], asked[f"lot_{row}"])
            for row in range(1, ROWS + 1)
            if asked.get(f"variety_{row}")
        ]

    def varieties(self) -> list[Variety]:
        """Return the varieties that were chosen so far, each once."""
        asked = getattr(self, "cleaned_data", {})
        chosen = [asked.get(f"variety_{row}") for row in range(1, ROWS + 1)]
        return list(dict.fromkeys(one for one in chosen if one is not None))

    def papers(self) -> Papers:
        """Return on what papers they came, without from whom."""
        asked = self.cleaned_data
        return Papers(None, asked["invoice"], asked["permit"], asked["source_code"], asked["note"])

    def how(self) -> dict[str, Any]:
        """Return where they go, as the action takes it."""
        names = ("origin", "rack", "no_quarantine_because", "day", "medium", "first_code")
        return {name: self.cleaned_data[name] for name in names}


def row_fields(row: int) -> dict[str, forms.Field]:
    """Return the questions of one variety; the first one must be answered."""
    first = row == 1
    number = "" if first else f" {row}"
    return {
        f"variety_{row}": forms.ModelChoiceField(
            label=f"Variety{number}", queryset=varieties(), required=first, empty_label="Choose"
        ),
        f"pieces_{row}": whole(f"Pieces{number}", least=1, required=first),
        f"lot_{row}": forms.BooleanField(
            label="One label for all of them, as a lot", required=False
        ),
    }


class CostForm(forms.Form):
    """What pieces that are here already cost."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields |= cost_fields()
        self.fields["cost"].required = True
