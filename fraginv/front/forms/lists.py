"""What lists are narrowed to: each filter is a plain parameter of the address."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.errors import FraginvError
from fraginv.base.rules.codes import read_code
from fraginv.front.rules.frag_filters import (
    ANY_TROUBLE,
    FLAGS,
    NO,
    OLDEST_DAYS,
    STAGES,
    YES,
    FragFilter,
)
from fraginv.stock.rules.stages import SIZES, TROUBLES
from fraginv.taxa.rules import GROUP_NAMES

Choices = Sequence[tuple[int, str]]
LARGEST_ID = 2**63 - 1
ANY = ("", "any")
AGE_WORDS = f"Write the age in whole days, from 0 to {OLDEST_DAYS}."


class WordField(forms.ChoiceField):
    """One of a few words; another one is refused with those that there are."""

    def __init__(self, choices: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(choices=choices, required=False, **options)
        words = ", ".join(word for word, _ in choices if word)
        self.error_messages["invalid_choice"] = (
            f"there is no “%(value)s”. Take one of {words}, or none."
        )


class IdField(forms.IntegerField):
    """What the address of a list names by its number."""

    def __init__(self, **options: Any) -> None:
        wrong = "that is no number of one. Choose it from the list again."
        messages = dict.fromkeys(("invalid", "min_value", "max_value"), wrong)
        super().__init__(
            required=False,
            min_value=1,
            max_value=LARGEST_ID,
            error_messages=messages,
            **options,
        )


def offer_places(
    form: forms.Form, *, systems: Choices, troughs: Choices, racks: Sequence[tuple[str, str]]
) -> None:
    """Let water, trough and rack be chosen from lists.

    One without choices is left out; a rack that is not among its choices is asked by its code.
    """
    for name, choices in (("system", systems), ("trough", troughs)):
        widget = forms.Select(choices=[ANY, *choices]) if choices else forms.HiddenInput()
        form.fields[name].widget = widget
    rack = form["rack"]
    asked = rack.value()
    if racks and (not asked or asked in {code for code, _ in racks}):
        form.fields["rack"].widget = forms.Select(choices=[ANY, *racks])
        rack.help_text = ""


class CodeField(forms.CharField):
    """The code of a thing, in any form."""

    def __init__(self, **options: Any) -> None:
        super().__init__(required=False, max_length=120, **options)

    def clean(self, value: Any) -> str:
        """Return the code's seven characters, nothing where none was typed."""
        typed = str(super().clean(value) or "")
        try:
            return read_code(typed) if typed else ""
        except FraginvError as error:
            raise ValidationError(error.message) from error


class DaysField(forms.IntegerField):
    """A number of days."""

    def __init__(self, **options: Any) -> None:
        messages = dict.fromkeys(("invalid", "min_value", "max_value"), AGE_WORDS)
        super().__init__(
            required=False, min_value=0, max_value=OLDEST_DAYS, error_messages=messages, **options
        )


class FilterForm(forms.Form):
    """What every narrowed list asks; its fields are empty where nothing is narrowed."""

    q = forms.CharField(
        required=False,
        max_length=80,
        label="Name or code",
        error_messages={"max_length": "at most 80 characters. Type less."},
    )

    def said_wrong(self) -> list[str]:
        """Return what cannot be understood, in words that name the question, each once."""
        found = [
            f"{self.fields[name].label}: {text}" if name in self.fields else str(text)
            for name, errors in self.errors.items()
            for text in errors
        ]
        return list(dict.fromkeys(found))

    def text(self) -> str:
        """Return the text with single spaces."""
        return " ".join(self.cleaned_data["q"].split())


class FragFilterForm(FilterForm):
    """Which frags a list shows."""

    stage = WordField(list(STAGES.items()), label="Stage")
    size = WordField([ANY, *SIZES.items()], label="Size")
    group = WordField([ANY, *GROUP_NAMES.items()], label="Group")
    system = IdField(label="Water")
    trough = IdField(label="Trough")
    rack = CodeField(label="Rack", help_text="The code on its edge.")
    colony = CodeField(label="Colony")
    variety = IdField(label="Variety", widget=forms.HiddenInput)
    genus = IdField(label="Genus", widget=forms.HiddenInput)
    wrong = WordField(
        [ANY, (ANY_TROUBLE, "something wrong"), (NO, "nothing wrong"), *TROUBLES.items()],
        label="Problem",
    )
    held = WordField([ANY, *zip((YES, NO), FLAGS["held"], strict=True)], label="Put aside")
    apart = WordField([ANY, *zip((YES, NO), FLAGS["apart"], strict=True)], label="Set apart")
    quarantined = WordField(
        [ANY, *zip((YES, NO), FLAGS["quarantined"], strict=True)], label="Quarantine"
    )
    kept = WordField([ANY, *zip((YES, NO), FLAGS["kept"], strict=True)], label="Kept back")
    age_from = DaysField(label="Cut at least so many days ago")
    age_to = DaysField(label="Cut at most so many days ago")

    def clean(self) -> dict[str, Any]:
        """Refuse an age that ends before it begins."""
        asked = self.cleaned_data
        first, last = asked.get("age_from"), asked.get("age_to")
        if first is not None and last is not None and first > last:
            raise ValidationError(
                f"No age is at least {first} and at most {last} days. Change the two numbers over."
            )
        return asked

    def asked(self) -> FragFilter:
        """Return what a form without mistakes asks for."""
        values = {name: value for name, value in self.cleaned_data.items() if name != "q"}
        return FragFilter(text=self.text(), **values)
