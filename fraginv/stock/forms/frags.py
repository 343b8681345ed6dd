"""What is asked of frags that are there."""

from typing import Any

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.stock.forms.fields import CodesField, RackField, whole, words
from fraginv.stock.queries.places import quarantine_racks, racks
from fraginv.stock.rules.stages import CAUSES, SIZES


class FragsForm(forms.Form):
    """Which frags, and to which page to go back."""

    codes = CodesField(label="Frags")
    back = forms.CharField(required=False, widget=forms.HiddenInput, label="Page")


class GradeForm(FragsForm):
    """How large frags are, by eye."""

    size = forms.ChoiceField(label="Size", choices=list(SIZES.items()), widget=forms.RadioSelect)
    heads = whole("Heads or polyps", least=1, most=999, required=False)
    fresh = forms.BooleanField(
        label="Sell it as a fresh cut: sheet and receipt say so", required=False
    )


class PlaceForm(FragsForm):
    """Where frags stand from now on; one is asked for its hole, many whether they fill them."""

    rack = RackField(label="Rack", queryset=racks(), empty_label=None)
    holes = forms.ChoiceField(
        label="Holes",
        choices=[("unknown", "Not known"), ("next", "The next free ones, as one reads")],
        widget=forms.RadioSelect,
        initial="unknown",
    )
    row = whole("Row", least=1, most=40, required=False)
    column = whole("Hole in the row", least=1, most=40, required=False)
    other = forms.ChoiceField(
        label="If something stands there",
        choices=[("unknown", "Its hole is not known"), ("swap", "They change places")],
        widget=forms.RadioSelect,
        initial="unknown",
        required=False,
    )

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        super().__init__(data, *args, **kwargs)
        codes = self.initial.get("codes", ()) if data is None else data.getlist("codes")
        for name in ("holes",) if len(codes) == 1 else ("row", "column", "other"):
            del self.fields[name]


def despite() -> forms.CharField:
    """Ask why something leaves quarantine before its time."""
    return words(
        "Why it leaves quarantine early",
        most=200,
        help_text="Only where its days or clean checks are not full; for managers.",
    )


class ReleaseForm(FragsForm):
    """Which frags are for sale again, and why before their time."""

    despite = despite()


class LeaveForm(forms.Form):
    """Why a frag leaves quarantine before its time, where it does."""

    despite = despite()


class ReasonForm(forms.Form):
    """Why, in a few words."""

    reason = words("Why", most=200)


class QuarantineForm(ReasonForm):
    """Into which rack of another system, and why."""

    rack = RackField(label="Rack", queryset=quarantine_racks(), empty_label=None)


class KeepForm(forms.Form):
    """Whether a frag is kept from sale."""

    kept = forms.ChoiceField(
        choices=[("yes", "Keep back"), ("no", "No longer")],
        widget=forms.HiddenInput,
        label="Keep back",
    )


class LossForm(forms.Form):
    """What was lost, and of what."""

    pieces = whole("Pieces lost", least=1, initial=1)
    cause = forms.ChoiceField(label="Cause", choices=list(CAUSES.items()), widget=forms.RadioSelect)
    day = forms.DateField(label="Day", initial=today, required=False)
    note = words("Note", most=300)
