"""What a list of colonies is narrowed to."""

from typing import Final

from fraginv.front.forms.lists import ANY, FilterForm, WordField
from fraginv.front.rules.colony_filters import STATES_ASKED, WORDS, ColonyFilter
from fraginv.taxa.rules import GROUP_NAMES

CHOICES: Final = {name: (label, [ANY, *words.items()]) for name, (label, words) in WORDS.items()}


class ColonyFilterForm(FilterForm):
    """Which colonies a list shows."""

    state = WordField(list(STATES_ASKED.items()), label="State")
    group = WordField([ANY, *GROUP_NAMES.items()], label="Group")
    rest = WordField(CHOICES["rest"][1], label=CHOICES["rest"][0])
    bar = WordField(CHOICES["bar"][1], label=CHOICES["bar"][0])
    paper = WordField(CHOICES["paper"][1], label=CHOICES["paper"][0])
    owner = WordField(CHOICES["owner"][1], label=CHOICES["owner"][0])
    origin = WordField(CHOICES["origin"][1], label=CHOICES["origin"][0])

    def asked(self) -> ColonyFilter:
        """Return what a form without mistakes asks for."""
        values = {name: value for name, value in self.cleaned_data.items() if name != "q"}
        return ColonyFilter(text=self.text(), **values)
