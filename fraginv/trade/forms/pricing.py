"""Prices and the sales tax."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.errors import FraginvError
from fraginv.base.fields import AmountField
from fraginv.base.rules.codes import read_code
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import frag_by_code
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.rules.stages import SIZES
from fraginv.trade.forms.fields import CODE_BOX, DayField, one_of, words
from fraginv.trade.models import CustomerKind
from fraginv.trade.rules.words import SALE_GROUPS, Basis, Unit

HUNDRED = Decimal(100)


class PriceForm(forms.Form):
    """A price from a day on: for a variety, a group, or one frag by its code."""

    kind = forms.ModelChoiceField(
        label="For", queryset=CustomerKind.objects.order_by("pk"), empty_label=None
    )
    variety = forms.ModelChoiceField(
        label="Variety", queryset=varieties(), required=False, empty_label="None"
    )
    group = forms.ChoiceField(
        label="Or a whole group",
        choices=[("", "None"), *((group, group) for group in SALE_GROUPS)],
        required=False,
    )
    frag = words(
        "Or one piece, sold as pictured",
        most=200,
        required=False,
        help_text="Its code.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )
    size = one_of("Size", {"": "Any", **SIZES}, required=False, initial="")
    amount = AmountField(
        label="Price in {currency}, without tax", error_messages={"required": "Write a price."}
    )
    unit = one_of("For each", {Unit.PIECE: "Piece", Unit.HEAD: "Head"}, initial=Unit.PIECE.value)
    first_day = DayField(label="From")

    def clean_frag(self) -> Frag | None:
        """Find the frag by its code.

        Raises: ValidationError.
        """
        text = self.cleaned_data["frag"]
        try:
            return frag_by_code(read_code(text)) if text else None
        except FraginvError as error:
            raise ValidationError(error.message) from error

    def values(self) -> dict[str, Any]:
        """Return what the action takes besides the amount."""
        cleaned = dict(self.cleaned_data)
        del cleaned["amount"]
        return cleaned | {"unit": Unit(cleaned["unit"])}


class TaxForm(forms.Form):
    """The sales tax from a day on."""

    name = words("Name on receipts", most=60, initial="Sales tax")
    percent = forms.DecimalField(
        label="Rate in percent, state and local together", max_digits=7, decimal_places=4
    )
    basis = one_of(
        "Rounded",
        {Basis.INVOICE: "Once for the whole sale", Basis.ITEM: "For each line"},
        initial=Basis.INVOICE.value,
    )
    first_day = DayField(label="From")

    def values(self) -> dict[str, Any]:
        """Return what the action takes besides the rate."""
        cleaned = dict(self.cleaned_data)
        del cleaned["percent"]
        return cleaned | {"basis": Basis(cleaned["basis"])}

    def rate(self) -> Decimal:
        """Return the rate as a fraction."""
        return Decimal(self.cleaned_data["percent"]) / HUNDRED
