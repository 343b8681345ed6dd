"""What a person chooses to have a measuring card."""

from collections.abc import Sequence
from typing import Any

from django import forms

from fraginv.base.rules.card import PAPERS
from fraginv.labels.models import Printer

PAPER_WORDS = {
    "a5": "A5, or printed at 100 % on A4 and cut",
    "letter": "Letter, cut out along its corners",
}


class CardForm(forms.Form):
    """Ask for which paper and which printer a card is."""

    paper = forms.ChoiceField(
        label="Paper",
        choices=[(name, PAPER_WORDS[name]) for name in PAPERS],
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, printers: Sequence[Printer], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        measured = [(str(one.pk), one.name) for one in printers if one.measured_at]
        self.fields["printer"] = forms.ChoiceField(
            label="Printer",
            required=False,
            choices=[("", "Any, as it comes"), *measured],
            help_text="For one that was measured the card is drawn so that it comes out true.",
        )
