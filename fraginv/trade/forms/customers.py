"""Customers and their resale certificates."""

from typing import Any

from django import forms

from fraginv.trade.forms.fields import DayField, words
from fraginv.trade.models import CustomerKind
from fraginv.trade.rules.certificates import Certificate


class CertificateForm(forms.Form):
    """A resale certificate, all of it or nothing."""

    state = words("State of the resale certificate", most=40, required=False)
    number = words("Its number", most=60, required=False)
    valid_from = DayField(label="Valid from", required=False, initial=None)
    valid_until = DayField(label="Valid until", required=False, initial=None)

    def certificate(self) -> Certificate:
        """Return the certificate as it was written."""
        asked = self.cleaned_data
        return Certificate(
            state=asked["state"],
            number=asked["number"],
            valid_from=asked["valid_from"],
            valid_until=asked["valid_until"],
        )


class CustomerForm(CertificateForm):
    """A customer who wants to be known."""

    field_order = ["name", "kind", "email", "phone", "address"]

    name = words("Name", most=120)
    kind = forms.ModelChoiceField(
        label="Kind", queryset=CustomerKind.objects.order_by("pk"), empty_label=None
    )
    email = forms.EmailField(label="E-mail", required=False)
    phone = words("Phone", most=40, required=False)
    address = forms.CharField(
        label="Address", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 3})
    )

    def values(self) -> dict[str, Any]:
        """Return what the action takes besides the certificate."""
        return {name: self.cleaned_data[name] for name in self.field_order}
