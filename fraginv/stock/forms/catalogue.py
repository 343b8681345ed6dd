"""What is asked of varieties and colonies."""

from django import forms

from fraginv.stock.forms.fields import prose, whole, words
from fraginv.stock.rules.ready import LEAST_MM, MOST_DAYS, MOST_HEADS, MOST_MM, Pace
from fraginv.stock.rules.stages import SIZES
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


class PaceForm(forms.Form):
    """When frags of a variety are ready, and how often they want to be seen."""

    heal_days = whole("Days until a cut has healed", least=1, most=MOST_DAYS, required=False)
    ready_days = whole(
        "Least days from cutting until ready", least=1, most=MOST_DAYS, required=False
    )
    ready_size = forms.ChoiceField(
        label="Least size",
        choices=[("", "Any"), *SIZES.items()],
        widget=forms.RadioSelect,
        required=False,
    )
    ready_heads = whole("Least heads or polyps", least=1, most=MOST_HEADS, required=False)
    ready_mm = whole(
        "Sold from so many mm across",
        least=LEAST_MM,
        most=MOST_MM,
        required=False,
        help_text="Its largest diameter, for forecasts of what is measured. Empty: as wide as its "
        "frags were when they were graded.",
    )
    see_days = whole(
        "Days until it wants to be seen again", least=1, most=MOST_DAYS, required=False
    )

    def say_usual(self, pace: Pace) -> None:
        """Say beside each question what holds where it is left empty."""
        usual = {
            "heal_days": pace.heals_in,
            "ready_days": pace.ready_in,
            "see_days": pace.seen_every,
        }
        for name, days in usual.items():
            self.fields[name].help_text = f"Empty: {days}, as usual for {pace.group}."
