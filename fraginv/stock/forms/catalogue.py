"""What is asked of varieties and colonies."""

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.stock.forms.fields import RackField, prose, whole, words
from fraginv.stock.queries.places import racks
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.rules.colonies import ORIGINS
from fraginv.taxa.rules import GROUP_NAMES


class VarietyForm(forms.Form):
    """What a customer asks for."""

    name = words("Trade name", most=80, required=True)
    genus = words("Genus", most=60, required=True, help_text="Older and trade names are known too.")
    species = words("Species", most=60)
    group = forms.ChoiceField(
        label="Group", choices=[("", "As the genus"), *GROUP_NAMES.items()], required=False
    )
    care = prose("Care", help_text="What a visitor reads: light, flow, feeding, neighbours.")
    note = prose("Note for the crew")


class ColonyForm(forms.Form):
    """A coral kept to be cut from."""

    variety = forms.ModelChoiceField(label="Variety", queryset=varieties(), empty_label=None)
    origin = forms.ChoiceField(label="Origin", choices=list(ORIGINS.items()))
    acquired_on = forms.DateField(label="Here since", initial=today)
    rack = RackField(label="Rack", queryset=racks(), required=False, empty_label="Not in a rack")
    rest_days = whole("Days of rest after a cutting", most=730, initial=30)
    note = prose("Note for the crew")
