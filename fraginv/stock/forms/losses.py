"""What is asked when pieces died."""

from collections.abc import Sequence
from typing import Any

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.stock.actions.losses import LossItem
from fraginv.stock.forms.fields import CODE_BOX, whole, words
from fraginv.stock.forms.frags import FragsForm
from fraginv.stock.models import Frag
from fraginv.stock.rules.stages import CAUSES


class ScannedForm(forms.Form):
    """Codes that were typed, or that a handheld scanner typed, one after another."""

    more = forms.CharField(
        label="Codes",
        required=False,
        max_length=20_000,
        help_text="Scan or type them one after another, each on a line or with a space between.",
        widget=forms.Textarea(attrs={"rows": 4, **CODE_BOX}),
    )


class LossesForm(FragsForm):
    """Why frags died, on which day, and how many of each lot."""

    cause = forms.ChoiceField(label="Cause", choices=list(CAUSES.items()), widget=forms.RadioSelect)
    day = forms.DateField(label="Day", initial=today)
    note = words("Note", most=300)

    def __init__(self, *args: Any, frags: Sequence[Frag], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.frags = frags
        self.fields["day"].widget.attrs["max"] = today().isoformat()
        for frag in frags:
            if frag.is_lot:
                self.fields[name_for(frag)] = whole(
                    f"Lost of {show_code(frag.code_id)}, {frag.variety}",
                    least=1,
                    most=max(frag.pieces, 1),
                    initial=1,
                    help_text=f"{frag.pieces} living.",
                )
        lots = [name_for(frag) for frag in frags if frag.is_lot]
        self.order_fields(["codes", "back", *lots, "cause", "day", "note"])

    def items(self) -> list[LossItem]:
        """Return what is to be written off: single pieces whole, lots by number."""
        asked = self.cleaned_data
        return [LossItem(frag.pk, asked.get(name_for(frag), 1)) for frag in self.frags]


def name_for(frag: Frag) -> str:
    """Return the name of the question about a lot."""
    return f"pieces_{frag.code_id}"
