"""What is asked at the bench; what is allowed is for the actions to say."""

from typing import Any

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.stock.forms.fields import CODE_BOX, RackField, whole, words
from fraginv.stock.queries.places import racks
from fraginv.stock.rules.stages import MEDIUMS


class CutForm(forms.Form):
    """One sitting at the bench with one colony."""

    pieces = whole("Living pieces", least=1)
    lost = whole("Lost at the bench", required=False, initial=0)
    medium = forms.ChoiceField(
        label="On", choices=list(MEDIUMS.items()), widget=forms.RadioSelect, initial="plug"
    )
    lot = forms.ChoiceField(
        label="Labels",
        choices=[("no", "One for each piece"), ("yes", "One for all, as a lot")],
        widget=forms.RadioSelect,
        initial="no",
    )
    first_code = words(
        "First printed label",
        most=200,
        help_text="The first blank one of the row that you use. Leave empty to print afterwards.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )
    rack = RackField(label="Rack", queryset=racks(), required=False, empty_label="Not placed yet")
    day = forms.DateField(label="Day", initial=today)
    despite_rest = words("Why it is cut all the same", most=200)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["day"].widget.attrs["max"] = today().isoformat()

    def ask_why(self) -> None:
        """Show the question for the reason as one that must be answered."""
        self.fields["despite_rest"].required = True

    def values(self) -> dict[str, Any]:
        """Return what the action takes."""
        cleaned = dict(self.cleaned_data)
        return cleaned | {"lot": cleaned["lot"] == "yes", "lost": cleaned["lost"] or 0}
