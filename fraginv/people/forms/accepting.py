"""What is asked of somebody who opened a link."""

from typing import Any

from django import forms

from fraginv.base.passwords import HELP
from fraginv.base.rules.passwords import MOST
from fraginv.people.forms.signing import NAME


def new_password(label: str = "Password") -> forms.CharField:
    """Ask for a password that is to be remembered by the browser, as it is typed."""
    return forms.CharField(
        label=label,
        max_length=MOST,
        strip=False,
        help_text=HELP,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class AcceptForm(forms.Form):
    """A sign-in name and a password of one's own."""

    username = forms.CharField(
        label="Sign-in name",
        max_length=40,
        help_text="You type this with the password. Capitals make no difference.",
        widget=forms.TextInput(attrs=NAME),
    )
    password = new_password()


class ResetForm(forms.Form):
    """A new password; the name is there for the browser's memory alone."""

    username = forms.CharField(
        label="Sign-in name", required=False, widget=forms.TextInput(attrs=NAME), disabled=True
    )
    password = new_password("New password")

    def clean(self) -> dict[str, Any]:
        """Take no name from a browser."""
        return {"username": "", "password": self.cleaned_data.get("password", "")}
