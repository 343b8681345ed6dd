"""What is asked for a PIN."""

from django import forms

from fraginv.people.forms.factors import PasswordForm

DIGITS = {
    "inputmode": "numeric",
    "pattern": "[0-9 ]*",
    "autocomplete": "off",
    "class": "control--pin",
}


class PinForm(forms.Form):
    """The PIN of somebody whom the phone knows."""

    pin = forms.CharField(
        label="PIN", max_length=12, widget=forms.PasswordInput(attrs=DIGITS | {"autofocus": True})
    )


class NewPinForm(PasswordForm):
    """A new PIN, and the password of whose it is to be."""

    pin = forms.CharField(
        label="New PIN",
        help_text="Six digits that nobody guesses: no row, no pattern, no birthday.",
        max_length=12,
        widget=forms.PasswordInput(attrs=DIGITS),
    )
    field_order = ("pin", "password")
