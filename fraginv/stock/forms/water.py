"""What is asked of the water."""

from datetime import date, timedelta
from typing import Any, Final, cast

from django import forms

from fraginv.base.queries.organisation import today
from fraginv.stock.actions.water import Reading
from fraginv.stock.forms.fields import words
from fraginv.stock.queries.places import waters
from fraginv.stock.rules.water import HAPPENED, LONGEST_TEXT, MEASURES, WaterKind

PERIODS: Final = {"30": "30 days", "90": "90 days", "365": "A year"}
LATEST: Final = "90"


def water_choices() -> list[tuple[str, Any]]:
    """Return systems with their troughs to choose from.

    Queries: 2.
    """
    return [
        (
            system.name,
            [
                (f"system-{system.pk}", f"{system.name}: all of it"),
                *(
                    (f"trough-{trough.pk}", f"{system.name}: trough {trough.name}")
                    for trough in system.troughs.all()
                ),
            ],
        )
        for system in waters()
    ]


class WaterForm(forms.Form):
    """What was measured at one moment, each in its unit, and what was done or happened."""

    water = forms.ChoiceField(label="Water")
    kind = forms.ChoiceField(
        label="What happened",
        choices=[("", "Nothing"), *HAPPENED.items()],
        widget=forms.RadioSelect,
        required=False,
    )
    text = words("In words", most=LONGEST_TEXT, help_text="What, how much, how long.")
    at = forms.DateTimeField(
        label="When", required=False, help_text="Leave empty for now.", widget=forms.DateTimeInput
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ChoiceField, self.fields["water"]).choices = water_choices()
        for kind, known in MEASURES.items():
            self.fields[kind.value] = forms.DecimalField(
                label=known.label, required=False, max_digits=9, decimal_places=3
            )
        self.order_fields(["water", *(kind.value for kind in MEASURES), "kind", "text", "at"])

    def clean(self) -> dict[str, Any]:
        """Put together what was filled in, as ``readings``."""
        cleaned = super().clean() or {}
        readings = [
            Reading(kind, value=cleaned[kind.value])
            for kind in MEASURES
            if cleaned.get(kind.value) is not None
        ]
        if cleaned.get("kind"):
            readings.append(Reading(WaterKind(cleaned["kind"]), text=cleaned.get("text", "")))
        elif cleaned.get("text"):
            self.add_error(
                "kind", "Say what these words are about: an outage, a treatment, a dose."
            )
        cleaned["readings"] = readings
        return cleaned


class PeriodForm(forms.Form):
    """Which water, and how long back."""

    water = forms.CharField(required=False, max_length=30)
    days = forms.ChoiceField(choices=list(PERIODS.items()), required=False)

    def period(self) -> tuple[date, date]:
        """Return the first and the last day."""
        asked = self.cleaned_data.get("days") if self.is_valid() else ""
        last = today()
        return last - timedelta(days=int(asked or LATEST) - 1), last
