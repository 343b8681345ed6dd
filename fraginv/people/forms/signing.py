"""What is asked at the door."""

from typing import Any

from django import forms

NAME = {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}


class SignInForm(forms.Form):
    """Who signs in."""

    username = forms.CharField(
        label="Sign-in name", max_length=40, widget=forms.TextInput(attrs=NAME)
    )
    password = forms.CharField(
        label="Password",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def clean_username(self) -> str:
        """Fold capitals, which phones like to set."""
        name: Any = self.cleaned_data["username"]
        return str(name).strip().lower()
