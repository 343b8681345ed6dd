"""What is sent with pictures, and what one in the tray shows."""

import json
from collections.abc import Sequence
from typing import Any, Final, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from fraginv.base.rules.pictures import MAX_BYTES
from fraginv.front.forms.lists import CodeField
from fraginv.stock.forms.fields import CODE_BOX

MOST_SCANNED: Final = 50
LONGEST_SCANNED: Final = 60
LONGEST_TEXT: Final = 8_000
MEGABYTES: Final = MAX_BYTES // 1024 // 1024


class SeveralFiles(forms.FileInput):
    """A control by which many files are chosen at once."""

    allow_multiple_selected = True


class PicturesField(forms.FileField):
    """One picture or many."""

    def clean(self, data: Any, initial: Any = None) -> "list[UploadedFile[bytes]]":
        """Return what was chosen, each file looked at as Django does.

        An empty file is kept: it is refused with the others, by its own name.
        """
        chosen = data if isinstance(data, list | tuple) else [data]
        return [one for one in chosen if one]


class SendForm(forms.Form):
    """Pictures, the key under which they come in together, and where they were taken.

    ``scanned`` is what the phone had scanned before, as ``scanned.js`` keeps it.
    """

    key = forms.UUIDField(widget=forms.HiddenInput)
    rack = CodeField(widget=forms.HiddenInput)
    scanned = forms.CharField(required=False, max_length=LONGEST_TEXT, widget=forms.HiddenInput)
    camera = PicturesField(
        label="Take a picture",
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    pictures = PicturesField(
        label="Choose pictures",
        required=False,
        help_text=(
            f"JPEG, PNG, WebP or HEIC, at most {MEGABYTES} MB each. Place and device are removed."
        ),
        widget=SeveralFiles(attrs={"accept": "image/*"}),
    )

    def clean_scanned(self) -> list[tuple[str, str]]:
        """Return the codes with when; what is not of their shape is left out."""
        try:
            told = json.loads(self.cleaned_data["scanned"] or "[]")
        except ValueError:
            return []
        rows: Sequence[Any] = told if isinstance(told, list) else []
        return [(row[0], row[1]) for row in rows[-MOST_SCANNED:] if is_scan(row)]

    def clean(self) -> dict[str, Any]:
        """Ask for at least one picture."""
        asked = cast(dict[str, Any], super().clean())
        if not asked.get("camera") and not asked.get("pictures"):
            raise ValidationError("Take a picture or choose some, then send them.")
        return asked

    def chosen(self) -> "list[UploadedFile[bytes]]":
        """Return all that was sent."""
        return [*self.cleaned_data["camera"], *self.cleaned_data["pictures"]]


def is_scan(row: object) -> bool:
    """Tell whether something is a code with a moment, both short texts."""
    return (
        isinstance(row, list)
        and len(row) == 2
        and all(isinstance(text, str) and len(text) <= LONGEST_SCANNED for text in row)
    )


class ShowsForm(forms.Form):
    """What a picture shows: a code in full, its last three characters, or one that was tapped."""

    code = forms.CharField(
        label="Code, or its last three characters",
        max_length=200,
        widget=forms.TextInput(attrs=CODE_BOX),
        error_messages={"required": "Type a code, or tap what it shows."},
    )
