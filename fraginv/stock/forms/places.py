"""What is asked of systems, troughs and racks."""

from typing import TYPE_CHECKING

from django import forms

from fraginv.stock.forms.fields import RackField, whole, words
from fraginv.stock.models import Trough
from fraginv.stock.queries.places import racks, troughs


class SystemForm(forms.Form):
    """A body of water."""

    name = words("Name of the system", most=60, required=True)
    quarantine = forms.BooleanField(
        label="For quarantine: shares no water with the display", required=False
    )


class TroughForm(forms.Form):
    """A basin in a system."""

    name = words("Name of the trough", most=60, required=True)


class RackForm(forms.Form):
    """A grid of holes in a trough."""

    name = words("Name of the rack", most=60, required=True)
    rows = whole("Rows", least=1, most=40, initial=6)
    columns = whole("Holes in a row", least=1, most=40, initial=10)


class SystemChangeForm(forms.Form):
    """A body of water as it is called, and how long what comes into quarantine stays."""

    name = words("Name of the system", most=60, required=True)
    least_days = whole("Least days in quarantine", least=0, most=365)
    clean_checks = whole("Clean checks in a row to leave", least=0, most=30)
    check_days = whole("Days from one check to the next", least=1, most=60)

    def only_name(self) -> None:
        """Ask for nothing that is of quarantine."""
        for name in ("least_days", "clean_checks", "check_days"):
            del self.fields[name]


class ShiftForm(forms.Form):
    """What the rack's last event was when the page was drawn."""

    seq = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)


if TYPE_CHECKING:
    TroughChoice = forms.ModelChoiceField[Trough]
else:
    TroughChoice = forms.ModelChoiceField


class TroughField(TroughChoice):
    """Offer the troughs with their water."""

    def label_from_instance(self, obj: Trough) -> str:
        """Name the water and the trough."""
        return f"{obj.system.name}: {obj.name}"


class MoveForm(ShiftForm):
    """Into which trough a rack is put."""

    trough = TroughField(label="Into this trough", queryset=troughs(), empty_label=None)


class EmptyForm(ShiftForm):
    """Into which rack all is moved."""

    rack = RackField(label="Into this rack", queryset=racks(), empty_label="Choose a rack")
