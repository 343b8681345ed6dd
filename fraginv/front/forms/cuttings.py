"""What a list of cuttings is narrowed to."""

from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError

from fraginv.front.forms.lists import ANY, CodeField, FilterForm, IdField, WordField
from fraginv.front.rules.cutting_filters import WORDS, CuttingFilter
from fraginv.taxa.rules import GROUP_NAMES

DAY_WORDS: Final = "Write the day as in 2026-11-27."


def word_field(name: str) -> WordField:
    """Return the field of a filter of a few words."""
    label, words = WORDS[name]
    return WordField([ANY, *words.items()], label=label)


def day_field(label: str) -> forms.DateField:
    """Return the field of a day, written as ISO 8601 has it."""
    return forms.DateField(
        required=False,
        label=label,
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": DAY_WORDS},
    )


class CuttingFilterForm(FilterForm):
    """Which cuttings a list shows."""

    group = WordField([ANY, *GROUP_NAMES.items()], label="Group")
    colony = CodeField(label="Colony")
    variety = IdField(label="Variety", widget=forms.HiddenInput)
    genus = IdField(label="Genus", widget=forms.HiddenInput)
    by = IdField(label="By", widget=forms.HiddenInput)
    first = day_field("From")
    last = day_field("To")
    medium = word_field("medium")
    tool = word_field("tool")
    lot = word_field("lot")
    lost = word_field("lost")
    rest = word_field("rest")

    def clean(self) -> dict[str, Any]:
        """Refuse days that end before they begin."""
        asked = self.cleaned_data
        first, last = asked.get("first"), asked.get("last")
        if first and last and first > last:
            raise ValidationError("The days end before they begin. Change the two over.")
        return asked

    def asked(self) -> CuttingFilter:
        """Return what a form without mistakes asks for."""
        values = {name: value for name, value in self.cleaned_data.items() if name != "q"}
        return CuttingFilter(text=self.text(), **values)
