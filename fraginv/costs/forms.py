"""What is asked about a bill; what is allowed is for the actions to say."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.fields import AmountField
from fraginv.base.queries.organisation import today
from fraginv.costs.rules import LONGEST_KIND, LONGEST_NOTE, LONGEST_SUPPLIER, Serves, Settled

SERVES = [
    (Serves.DISPLAY.value, "The display"),
    (Serves.FRAGS.value, "The frags"),
    (Serves.SHARED.value, "Both"),
]
SETTLED = [
    (Settled.PAID.value, "Paid"),
    (Settled.OWED.value, "Still owed"),
    (Settled.IN_KIND.value, "Given in kind"),
]
PAID_BY = [("transfer", "The bank"), ("cash", "Cash")]
HUNDRED = Decimal(100)


class DayField(forms.DateField):
    """Ask for a day that has come, today by default, written as in ISO 8601."""

    def __init__(self, *, label: str) -> None:
        super().__init__(
            label=label,
            initial=today,
            input_formats=["%Y-%m-%d"],
            error_messages={"invalid": "Write the day as in 2026-11-25."},
        )


def words(label: str, *, most: int, **more: Any) -> forms.CharField:
    """Ask for a few words."""
    return forms.CharField(label=label, max_length=most, **more)


class BillForm(forms.Form):
    """A bill of one kind as it came in."""

    kind = words(
        "Kind of cost",
        most=LONGEST_KIND,
        help_text="Such as electricity, salt or food. A new kind is made when none fits.",
        widget=forms.TextInput(attrs={"list": "kinds", "autocomplete": "off"}),
        error_messages={"required": "Write what was paid for, such as electricity."},
    )
    amount = AmountField(
        label="Amount in {currency}", error_messages={"required": "Write the amount of the bill."}
    )
    day = DayField(label="Day on the bill")
    supplier = words(
        "Supplier",
        most=LONGEST_SUPPLIER,
        required=False,
        widget=forms.TextInput(attrs={"list": "suppliers", "autocomplete": "off"}),
    )
    serves = forms.ChoiceField(
        label="What it is for", choices=SERVES, widget=forms.RadioSelect, initial=SERVES[0][0]
    )
    display_percent = forms.DecimalField(
        label="The display's part in percent",
        help_text="Where the bill is for both; the rest is the frags' own.",
        required=False,
        initial=50,
        decimal_places=2,
    )
    settled = forms.ChoiceField(
        label="How it stands", choices=SETTLED, widget=forms.RadioSelect, initial=SETTLED[0][0]
    )
    paid_by = forms.ChoiceField(
        label="Paid from",
        help_text="Counts only for a bill that is paid.",
        choices=PAID_BY,
        widget=forms.RadioSelect,
        initial=PAID_BY[0][0],
    )
    note = words("Note", most=LONGEST_NOTE, required=False)

    def clean_display_percent(self) -> Decimal:
        """Take one half where nothing is written.

        Raises: ValidationError outside 0 to 100.
        """
        percent: Decimal | None = self.cleaned_data["display_percent"]
        if percent is None:
            return Decimal(50)
        if not 0 <= percent <= HUNDRED:
            raise ValidationError("The display's part must lie between 0 and 100 percent.")
        return percent

    def values(self) -> dict[str, Any]:
        """Return what the action takes besides its items."""
        cleaned = dict(self.cleaned_data)
        share = cleaned.pop("display_percent") / HUNDRED
        del cleaned["kind"], cleaned["amount"]
        return cleaned | {"display_share": share}


class PayForm(forms.Form):
    """When and how what a bill owes was paid."""

    day = DayField(label="Paid on")
    paid_by = forms.ChoiceField(
        label="Paid from", choices=PAID_BY, widget=forms.RadioSelect, initial=PAID_BY[0][0]
    )
