"""What is asked about a stop-sale."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any, cast

from django import forms

from fraginv.base.errors import FraginvError
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import read_code
from fraginv.stock.actions.stops import Concern
from fraginv.stock.forms.fields import CODE_BOX, words
from fraginv.stock.forms.water import water_choices
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.queries.water import water_named
from fraginv.stock.rules.stops import LONGEST_WORDS, USUAL_DAYS
from fraginv.taxa.queries import genus_named

CONCERNS = ("water", "colony", "variety", "genus")


class StopForm(forms.Form):
    """What is not sold any more, why, until what, and since when it may have mattered."""

    water = forms.ChoiceField(label="Water", required=False)
    colony = words(
        "or a colony", most=60, help_text="Its code.", widget=forms.TextInput(attrs=CODE_BOX)
    )
    variety = forms.ModelChoiceField(
        label="or a variety", queryset=varieties(), required=False, empty_label="None"
    )
    genus = words("or a genus", most=60, help_text="Older and trade names are known too.")
    reason = words("Why", most=LONGEST_WORDS, required=True, help_text="Flatworms, a treatment …")
    ends_when = words(
        "What ends it",
        most=LONGEST_WORDS,
        required=True,
        help_text="Three clean checks a week apart, a water change, a day …",
    )
    since = forms.DateField(
        label="It may have been there since",
        help_text="Whoever bought from there since this day is listed, to be called. What is "
        f"noticed today was there before, so {USUAL_DAYS} days back are proposed; take today for "
        "a treatment, and an earlier day for what has spread.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["since"].initial = today() - timedelta(days=USUAL_DAYS)
        self.fields["since"].widget.attrs["max"] = today().isoformat()
        cast(forms.ChoiceField, self.fields["water"]).choices = [("", "None"), *water_choices()]

    def clean(self) -> dict[str, Any]:
        """Find the one thing that is meant, as ``concern``."""
        cleaned = super().clean() or {}
        asked = [name for name in CONCERNS if cleaned.get(name)]
        if len(asked) != 1:
            said = "Choose what is not sold: one water, or one colony, variety or genus."
            self.add_error("water" if not asked else asked[1], said)
            return cleaned
        try:
            cleaned["concern"] = meant(asked[0], cleaned[asked[0]])
        except FraginvError as error:
            self.add_error(asked[0], error.message)
        return cleaned


def meant(name: str, value: Any) -> Concern:
    """Return the water, colony, variety or genus that was typed or chosen.

    Raises: FraginvError where there is none.
    """
    if name == "water":
        found = water_named(value)
        return found.trough or found.system
    if name == "colony":
        return colony_by_code(read_code(value))
    return genus_named(value) if name == "genus" else cast(Concern, value)


def stop_asked(query: Mapping[str, str]) -> dict[str, Any]:
    """Return what a link to the form fills in: a trough, system, colony, variety or genus."""
    found: dict[str, Any] = {}
    for kind in ("system", "trough"):
        if query.get(kind, "").isdecimal():
            found["water"] = f"{kind}-{query[kind]}"
    return found | {name: query[name] for name in CONCERNS if query.get(name)}


class EndForm(forms.Form):
    """Why it may be sold again."""

    because = words("Why it may be sold again", most=LONGEST_WORDS, required=True)


class SinceForm(forms.Form):
    """Since which day it matters who bought."""

    since = forms.DateField(label="Since", required=False)
