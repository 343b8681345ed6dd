"""Holding, selling, paying and crediting."""

from typing import Any

from django import forms

from fraginv.base.fields import AmountField
from fraginv.stock.rules.holds import NAMED_TIME, WALK_TIME, ClaimKind
from fraginv.trade.forms.fields import (
    CODE_BOX,
    CustomerField,
    DayField,
    one_of,
    words,
)
from fraginv.trade.rules.words import Channel, Means

LATER = "later"
MEANS = {
    Means.CASH: "Cash",
    Means.CARD: "Card",
    Means.TRANSFER: "Transfer",
    Means.CHEQUE: "Cheque",
    Means.TRADE: "Corals in trade",
    Means.ACCOUNT: "Their credit with us",
}
CHANNELS = {
    Channel.COUNTER: "Counter",
    Channel.OPEN_DAY: "Open day",
    Channel.ORDER: "Order",
    Channel.OTHER: "Other",
}


class WhomForm(forms.Form):
    """Whom something is for: a customer, or just a name."""

    customer = CustomerField()
    name = words("Or a name", most=120, required=False)


class HoldForm(WhomForm):
    """Pieces to put aside."""

    field_order = ["pieces", "customer", "name", "kind", "until"]

    pieces = forms.IntegerField(
        label="Pieces", initial=1, widget=forms.NumberInput(attrs={"min": 1})
    )
    kind = one_of(
        "How long",
        {
            ClaimKind.WALK.value: f"{WALK_TIME.seconds // 60} minutes, while they walk the racks",
            ClaimKind.NAMED.value: f"{NAMED_TIME.days} days, or until the time below",
        },
        initial=ClaimKind.NAMED.value,
    )
    until = forms.DateTimeField(label="Until", required=False, widget=forms.DateTimeInput)

    def __init__(self, *args: Any, most: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pieces"].widget.attrs["max"] = most

    def values(self) -> dict[str, Any]:
        """Return what the action takes."""
        cleaned = dict(self.cleaned_data)
        return cleaned | {
            "for_name": cleaned.pop("name"),
            "kind": ClaimKind(cleaned["kind"]),
        }


class SellForm(WhomForm):
    """Whom, how and for what money; the pieces stand beside it."""

    code = words(
        "Add a piece",
        most=200,
        required=False,
        help_text="Scan its label or type its code.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )
    channel = one_of("Where", CHANNELS, initial=Channel.COUNTER.value)
    discount = AmountField(
        label="Off the whole sale, in {currency}",
        required=False,
        help_text="An amount, no percent.",
    )
    means = one_of("Paid by", MEANS | {LATER: "Not paid yet"}, initial=Means.CASH.value)
    amount = AmountField(
        label="Received in {currency}",
        required=False,
        help_text="Leave empty when all of it is paid.",
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput, label="Total")


class PayForm(forms.Form):
    """Money for a sale."""

    amount = AmountField(
        label="Amount in {currency}", error_messages={"required": "Write the amount."}
    )
    means = one_of("Paid by", MEANS, initial=Means.CASH.value)
    day = DayField(label="Day")


class CreditForm(forms.Form):
    """Why a sale is credited, and how money goes back."""

    reason = words("Reason", most=200, required=False, help_text="Such as: dead on arrival.")
    refund_means = one_of(
        "How money goes back",
        MEANS | {"": "None goes back"},
        required=False,
        initial="",
        help_text="What is still owed is lowered first.",
    )

    def means(self) -> Means | None:
        """Return how money goes back, or None."""
        chosen = self.cleaned_data["refund_means"]
        return Means(chosen) if chosen else None


class CreditLineForm(forms.Form):
    """What of one line is credited."""

    pieces = forms.IntegerField(label="Pieces credited", initial=0, required=False)
    alive = forms.IntegerField(label="Of these, alive and back in stock", initial=0, required=False)
    allowance = AmountField(label="Or an amount off in {currency}, without tax", required=False)

    def __init__(self, *args: Any, most: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("pieces", "alive"):
            self.fields[name].widget.attrs |= {"min": 0, "max": most}

    def values(self) -> dict[str, int]:
        """Return what an item of a credit takes."""
        return {name: self.cleaned_data[name] or 0 for name in ("pieces", "alive", "allowance")}
