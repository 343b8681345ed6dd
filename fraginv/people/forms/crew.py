"""What an owner is asked about people."""

from typing import Any

from django import forms

from fraginv.base.rules.roles import Role
from fraginv.people.rules.words import ROLE_TEXTS

ROLES = [(role.value, f"{role.value}: {text}") for role, text in ROLE_TEXTS.items()]
NAME = {"autocomplete": "off", "autocapitalize": "words"}


class PersonForm(forms.Form):
    """Who somebody is, and what they may do."""

    name = forms.CharField(
        label="Name",
        max_length=80,
        help_text="As it shall stand on papers and beside what they do.",
        widget=forms.TextInput(attrs=NAME),
    )
    role = forms.ChoiceField(label="Role", choices=ROLES, widget=forms.RadioSelect)
    email = forms.EmailField(
        label="E-mail",
        required=False,
        help_text="For links, and to be told of a new password.",
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )

    def values(self) -> dict[str, Any]:
        """Return what the actions take."""
        asked = self.cleaned_data
        return {"name": asked["name"], "role": Role(asked["role"]), "email": asked["email"]}
