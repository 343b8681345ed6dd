"""What a phone sends with one scan."""

from collections.abc import Mapping
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.rules.codes import CodeError, read_code
from fraginv.front.rules.scans import Act
from fraginv.stock.rules.stages import CAUSES, SIZES

LONGEST: Final = 200
COMMON: Final = {"code", "at", "person"}


def needed(words: str) -> dict[str, str]:
    """Return what is said where something was not chosen, or is none of what there is."""
    return {"required": words, "invalid_choice": words, "invalid": words}


class ScanForm(forms.Form):
    """What was read, when, and who was signed in then; without a moment it was just now."""

    code = forms.CharField(max_length=LONGEST, error_messages=needed("Type or scan a code."))
    at = forms.CharField(max_length=40, required=False)
    person = forms.IntegerField(required=False)

    def chosen(self) -> dict[str, Any]:
        """Return what was chosen before the scan."""
        return {
            name: value
            for name, value in self.cleaned_data.items()
            if name not in COMMON and value is not None
        }


class MoveForm(ScanForm):
    """Into which rack; a hole only where a piece is put back."""

    rack = forms.CharField(
        max_length=LONGEST, error_messages=needed("Scan the rack first, or choose it.")
    )
    row = forms.IntegerField(required=False, min_value=1)
    column = forms.IntegerField(required=False, min_value=1)

    def clean_rack(self) -> str:
        """Read the rack's code."""
        try:
            return read_code(self.cleaned_data["rack"])
        except CodeError as error:
            raise ValidationError(error.message) from error


class ReadyForm(ScanForm):
    """At which size."""

    size = forms.ChoiceField(
        choices=list(SIZES.items()), error_messages=needed("Choose the size first, then scan.")
    )


class LoseForm(ScanForm):
    """From what cause."""

    cause = forms.ChoiceField(
        choices=list(CAUSES.items()), error_messages=needed("Choose the cause first, then scan.")
    )


class UnloseForm(ScanForm):
    """Which loss is taken back."""

    loss = forms.IntegerField(min_value=1, error_messages=needed("There is no such loss."))


FORMS: Final[Mapping[Act, type[ScanForm]]] = {
    Act.SEEN: ScanForm,
    Act.MOVE: MoveForm,
    Act.READY: ReadyForm,
    Act.UNREADY: ScanForm,
    Act.LOSE: LoseForm,
    Act.UNLOSE: UnloseForm,
    Act.LABEL: ScanForm,
    Act.UNLABEL: ScanForm,
}
