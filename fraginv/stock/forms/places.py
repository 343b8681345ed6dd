"""What is asked of systems, troughs and racks."""

from django import forms

from fraginv.stock.forms.fields import whole, words


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
