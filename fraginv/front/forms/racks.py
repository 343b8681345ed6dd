"""What is asked while somebody walks past the racks."""

from typing import Any, Final

from django import forms

from fraginv.growth.forms.photos import PhotoForm
from fraginv.stock.forms.fields import CODE_BOX, whole, words
from fraginv.stock.rules.racks import MOST_ACROSS
from fraginv.stock.rules.stages import TROUBLES

THEN: Final = (("stay", "Stays here"), ("apart", "Set apart"), ("lost", "Lost"))
HOLES: Final = (("next", "The next free hole, as one reads"), ("unknown", "Hole not known"))
OTHERS: Final = (("", "Ask"), ("swap", "They change places"), ("unknown", "Its hole is not known"))


class TroubleForm(PhotoForm):
    """What is wrong with a frag, and what becomes of it; a picture may be left out."""

    wrong = forms.ChoiceField(label="What is wrong", choices=list(TROUBLES.items()))
    then = forms.ChoiceField(label="What becomes of it", choices=THEN, required=False)
    pieces = whole("Pieces, if lost", least=1, required=False)
    note = words("Note", most=300)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["caption"]
        self.fields["picture"].required = False

    def values(self) -> dict[str, Any]:
        """Return what is done."""
        asked = self.cleaned_data
        return asked | {"then": asked["then"] or "stay", "pieces": asked["pieces"] or 1}


class BringForm(forms.Form):
    """Which frags come into a rack, and into which holes.

    ``chosen`` is one that was tapped; ``row`` and ``column`` name a hole that was tapped;
    ``other`` says what becomes of who stands there.
    """

    what = words(
        "Codes, or their last three characters",
        most=4000,
        help_text="One or more, with a blank between them. A scanner that types works here too.",
        widget=forms.TextInput(attrs=CODE_BOX | {"autofocus": True}),
    )
    holes = forms.ChoiceField(
        label="Where they stand", choices=HOLES, required=False, widget=forms.RadioSelect
    )
    chosen = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)
    row = forms.IntegerField(
        required=False, min_value=1, max_value=MOST_ACROSS, widget=forms.HiddenInput
    )
    column = forms.IntegerField(
        required=False, min_value=1, max_value=MOST_ACROSS, widget=forms.HiddenInput
    )
    other = forms.ChoiceField(choices=OTHERS, required=False, widget=forms.HiddenInput)

    def require(self) -> None:
        """Show both questions as such that must be answered."""
        self.fields["what"].required = self.fields["holes"].required = True

    def texts(self) -> list[str]:
        """Return each code as it was typed or scanned, in that order, each once.

        One that was tapped stands where its last characters were typed.
        """
        chosen = self.cleaned_data["chosen"]
        typed = self.cleaned_data["what"].replace(",", " ").split()
        if chosen:
            ends = [chosen if chosen.endswith(text.upper()) else text for text in typed]
            typed = ends if chosen in ends else [chosen, *ends]
        return list(dict.fromkeys(typed))
