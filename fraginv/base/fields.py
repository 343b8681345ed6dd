"""Questions that forms of several packages ask."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.errors import InputError
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.money import parse_amount

MONEY_BOX = {"inputmode": "decimal", "autocomplete": "off"}


class AmountField(forms.CharField):
    """Ask for an amount in the organisation's currency; its value is in minor units.

    The label holds ``{currency}`` where the currency's name is to stand.
    """

    def __init__(self, *, label: str, **more: Any) -> None:
        box = forms.TextInput(attrs=MONEY_BOX)
        super().__init__(label=label, max_length=40, widget=box, **more)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> forms.BoundField:
        """Name the currency in the label.

        Queries: as ``organisation``.
        """
        self.label = str(self.label).format(currency=organisation().currency)
        return super().get_bound_field(form, field_name)

    def clean(self, value: Any) -> int | None:
        """Read the amount; None where nothing is written and nothing need be.

        Raises: ValidationError saying what to write instead.
        """
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_amount(text, currency=organisation().currency)
        except InputError as error:
            raise ValidationError(error.message) from error
