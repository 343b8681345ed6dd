"""What is asked of varieties and colonies."""

from django import forms

from fraginv.stock.forms.fields import prose, words
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
