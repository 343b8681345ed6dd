"""What is asked at the door."""

from typing import Any

from django import forms

from fraginv.front.queries.rows import FOR_SALE

# What a list of frags can be narrowed to, and its word.
STAGES = [
    ("", "living"),
    (FOR_SALE, "for sale"),
    *((stage, stage) for stage in ("healing", "growing", "ready", "sold", "lost")),
]
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


class FragFilterForm(forms.Form):
    """Which frags a list shows; what cannot be read is left out."""

    stage = forms.ChoiceField(
        choices=STAGES,
        required=False,
    )
    variety = forms.IntegerField(required=False, min_value=1)
    q = forms.CharField(required=False, max_length=80)
    after = forms.IntegerField(required=False, min_value=1)
