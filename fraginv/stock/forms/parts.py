"""What is asked when frags part, grow together, are counted, found or given."""

from typing import Any

from django import forms

from fraginv.stock.forms.fields import CODE_BOX, RackField, whole, words
from fraginv.stock.forms.frags import FragsForm
from fraginv.stock.queries.places import racks
from fraginv.stock.rules.cutting import LONGEST_DIP
from fraginv.stock.rules.parts import MOST_COUNTED, MOST_PARTS
from fraginv.stock.rules.stages import CAUSES, GIFTS, MEDIUMS


def blank_label(help_text: str) -> forms.CharField:
    """Ask for a label printed ahead, which may be left out."""
    box = forms.TextInput(attrs=CODE_BOX)
    return words("Blank label", most=200, help_text=help_text, widget=box)


class SplitForm(forms.Form):
    """How many pieces leave a lot, and under what codes."""

    pieces = whole("Pieces that leave the lot", least=1, initial=1)
    each = forms.ChoiceField(
        label="Codes",
        choices=[("yes", "One for each"), ("no", "One for all of them, as a lot")],
        widget=forms.RadioSelect,
        initial="yes",
    )
    first_code = blank_label("Scan or type it, the first of a row for several. Empty: a new code.")

    def values(self) -> dict[str, Any]:
        """Return what the action takes."""
        return self.cleaned_data | {"each": self.cleaned_data["each"] == "yes"}


class RecutForm(forms.Form):
    """Into how many pieces one is cut, and what they stand on."""

    into = whole("Pieces in all", least=2, most=MOST_PARTS, initial=2)
    medium = forms.ChoiceField(
        label="The new ones on",
        choices=[("", "As before"), *MEDIUMS.items()],
        widget=forms.RadioSelect,
        required=False,
    )
    first_code = blank_label("For the first of the new ones. Empty: new codes.")


class JoinForm(forms.Form):
    """With which frag another has become one: one that stands near, or by its code."""

    near = forms.CharField(required=False, widget=forms.HiddenInput, label="Near")
    other = words(
        "Its code",
        most=200,
        help_text="Scan or type it.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )

    def clean(self) -> dict[str, Any]:
        """Take what was typed before what was picked.

        Raises: ValidationError for neither.
        """
        asked = dict(self.cleaned_data)
        code = asked.get("other") or asked.get("near")
        if not code:
            raise forms.ValidationError("Pick the other frag, or scan or type its code.")
        return {"other": code}


class RelabelForm(forms.Form):
    """Which label a frag carries from now on."""

    new_code = blank_label("Scan or type it. Empty: a new code, to print.")


class CountForm(forms.Form):
    """How many of a lot are there, and why some are gone."""

    pieces = whole("Pieces there now", most=MOST_COUNTED)
    cause = forms.ChoiceField(
        label="If some are gone, why",
        choices=[("", "None is gone"), *CAUSES.items()],
        required=False,
    )
    note = words("Note", most=300)


class FoundForm(forms.Form):
    """How many were found again, and where they stand now."""

    pieces = whole("Pieces found", least=1, initial=1)
    rack = RackField(label="Rack", queryset=racks(), required=False, empty_label="Not placed yet")
    note = words("Note", most=300)


class DipForm(FragsForm):
    """What frags were dipped in, and when again."""

    dip = words("Dipped in", most=LONGEST_DIP, required=True, help_text="In what, how long.")
    again = forms.DateField(label="Next dip", required=False)


class RemountForm(FragsForm):
    """What frags stand on from now on."""

    medium = forms.ChoiceField(
        label="Now on", choices=list(MEDIUMS.items()), widget=forms.RadioSelect
    )


class GiveForm(FragsForm):
    """What frags are given for, to whom, and with which sale."""

    why = forms.ChoiceField(label="For", choices=list(GIFTS.items()), widget=forms.RadioSelect)
    pieces = whole("Pieces", least=1, required=False, help_text="Only for a lot.")
    to = words("To whom", most=120)
    paper = words(
        "Number of the sale",
        most=40,
        help_text="As it stands on the receipt. It is written down and not looked up.",
    )
