"""What is asked for a second step."""

from typing import Any

from django import forms

CODE = {
    "inputmode": "numeric",
    "autocomplete": "one-time-code",
    "pattern": "[0-9 ]*",
    "autocapitalize": "none",
}
RECOVERY = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}


class CodeForm(forms.Form):
    """The six digits that the phone shows now."""

    code = forms.CharField(
        label="Code from your phone",
        help_text="Six digits; a new one comes every half minute.",
        max_length=10,
        widget=forms.TextInput(attrs=CODE),
    )


class SecondForm(CodeForm):
    """The code after the password; a phone's keypad opens by itself."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].widget.attrs["autofocus"] = True


class RecoveryForm(forms.Form):
    """One of the recovery codes in place of the phone's."""

    recovery = forms.CharField(
        label="Recovery code",
        help_text="One of the ten that you printed or wrote down. Each opens once.",
        max_length=20,
        widget=forms.TextInput(attrs=RECOVERY),
    )


class PasswordForm(forms.Form):
    """The password of who is signed in, before something that guards the door is changed."""

    password = forms.CharField(
        label="Your password",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
