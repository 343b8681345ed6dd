"""What is asked at the bench; what is allowed is for the actions to say."""

from typing import Any

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.stock.forms.fields import CODE_BOX, RackField, whole, words
from fraginv.stock.queries.places import racks
from fraginv.stock.rules.cutting import LONGEST_DIP, TOOLS
from fraginv.stock.rules.stages import MEDIUMS

# What stays the same through a sitting, folded away on the page.
HOW = ("medium", "tool", "dip", "rack", "day")


class CutForm(forms.Form):
    """One sitting at the bench with one colony."""

    pieces = whole("Living pieces", least=1)
    lost = whole("Lost at the bench", required=False, initial=0)
    lot = forms.ChoiceField(
        label="Labels",
        choices=[("no", "One for each piece"), ("yes", "One for all, as a lot")],
        widget=forms.RadioSelect,
        initial="no",
    )
    first_code = words(
        "First printed label",
        most=200,
        help_text="The first blank one that you use. Empty: print afterwards.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )
    medium = forms.ChoiceField(
        label="On", choices=list(MEDIUMS.items()), widget=forms.RadioSelect, initial="plug"
    )
    tool = forms.ChoiceField(
        label="Tool", choices=[("", "Not said"), *TOOLS.items()], required=False
    )
    dip = words("Dip", most=LONGEST_DIP, help_text="In what, how long. Empty: none.")
    rack = RackField(label="Rack", queryset=racks(), required=False, empty_label="Not placed yet")
    day = forms.DateField(label="Day", initial=today)
    despite_rest = words("Why it is cut all the same", most=200)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["day"].widget.attrs["max"] = today().isoformat()
        self.asks_why = False

    def ask_why(self, *, resting: bool, most: int | None) -> None:
        """Say what a colony bears, and ask for the reason to cut a resting one, or more."""
        if most is not None:
            self.fields["pieces"].help_text = f"At most {most} a sitting."
        self.asks_why = resting or (most is not None and self.is_bound and self.taken > most)
        self.fields["despite_rest"].required = self.asks_why

    @property
    def taken(self) -> int:
        """Return how many pieces are cut off, those lost at the bench too."""
        return sum(self.cleaned_data.get(name) or 0 for name in ("pieces", "lost"))

    @property
    def how(self) -> list[str]:
        """Say in a few words what stays the same through the sitting."""
        told = [f"on {MEDIUMS.get(self['medium'].value(), '').lower()}"]
        told.append(TOOLS.get(self["tool"].value() or "", "no tool noted").lower())
        told.append(self["dip"].value() or "no dip")
        return told

    @property
    def how_wrong(self) -> bool:
        """Tell whether an answer that is folded away has to be mended."""
        return bool(set(HOW) & set(self.errors))

    def values(self) -> dict[str, Any]:
        """Return what the action takes."""
        cleaned = dict(self.cleaned_data)
        return cleaned | {"lot": cleaned["lot"] == "yes", "lost": cleaned["lost"] or 0}
