"""Questions that several forms of the trade ask."""

from typing import TYPE_CHECKING, Any

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.trade.models import Customer
from fraginv.trade.queries.customers import customers_to_choose

CODE_BOX = {"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}


def words(label: str, *, most: int, **more: Any) -> forms.CharField:
    """Ask for a few words."""
    return forms.CharField(label=label, max_length=most, **more)


def one_of(label: str, choices: dict[Any, str], **more: Any) -> forms.ChoiceField:
    """Ask for one of a few, each large as a thumb."""
    pairs = [(str(value), text) for value, text in choices.items()]
    return forms.ChoiceField(label=label, choices=pairs, widget=forms.RadioSelect, **more)


if TYPE_CHECKING:
    CustomerChoice = forms.ModelChoiceField[Customer]
else:
    CustomerChoice = forms.ModelChoiceField


class CustomerField(CustomerChoice):
    """Offer the customers by name, with their kind."""

    def __init__(self, **more: Any) -> None:
        super().__init__(
            label="Customer",
            queryset=customers_to_choose(),
            required=False,
            empty_label="None of these",
            **more,
        )

    def label_from_instance(self, obj: Customer) -> str:
        """Name the customer and the kind."""
        return f"{obj.party.name} ({obj.kind.name})"


class DayField(forms.DateField):
    """Ask for a day, today by default, written as in ISO 8601."""

    def __init__(self, *, label: str, **more: Any) -> None:
        errors = {"invalid": "Write the day as in 2026-11-25."}
        super().__init__(
            label=label,
            input_formats=["%Y-%m-%d"],
            error_messages=errors,
            **({"initial": today} | more),
        )
