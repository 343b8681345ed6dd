"""What is asked of a report."""

from typing import Any

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.rules.cutting import TOOLS
from fraginv.stock.rules.stages import MEDIUMS
from fraginv.taxa.rules import GROUP_NAMES


class PeriodForm(forms.Form):
    """From which day to which; both may be left out."""

    first = forms.DateField(label="From", required=False)
    last = forms.DateField(label="To", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("first", "last"):
            self.fields[name].widget.attrs["max"] = today().isoformat()


class CohortForm(PeriodForm):
    """Which frags are followed: by what they are, where from, and how they were cut."""

    variety = forms.ModelChoiceField(
        label="Variety", queryset=varieties(), required=False, empty_label="All"
    )
    group = forms.ChoiceField(
        label="Group", choices=[("", "All"), *GROUP_NAMES.items()], required=False
    )
    colony = forms.CharField(label="Colony's code", required=False, max_length=60)
    medium = forms.ChoiceField(
        label="Glued to", choices=[("", "All"), *MEDIUMS.items()], required=False
    )
    tool = forms.ChoiceField(label="Tool", choices=[("", "All"), *TOOLS.items()], required=False)

    def without_methods(self) -> None:
        """Ask for nothing that compares ways of working."""
        for name in ("medium", "tool"):
            del self.fields[name]
