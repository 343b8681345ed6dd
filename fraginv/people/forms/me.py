"""What is asked on one's own page."""

from django import forms

from fraginv.people.forms.accepting import new_password


class ChangePasswordForm(forms.Form):
    """The present password and another."""

    present = forms.CharField(
        label="Present password",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = new_password("New password")
