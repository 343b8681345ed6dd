"""What is asked of a crew member; what is allowed is for the actions to say."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import CodeError, read_code
from fraginv.stock.models import Rack
from fraginv.stock.queries.places import quarantine_racks, racks
from fraginv.stock.queries.varieties import varieties
from fraginv.stock.rules.colonies import ORIGINS
from fraginv.stock.rules.cutting import MOST_PIECES
from fraginv.stock.rules.stages import CAUSES, MEDIUMS, SIZES
from fraginv.taxa.rules import GROUP_NAMES

CODE_BOX = {"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}
MOST_FRAGS = 500


def whole(
    label: str, *, least: int = 0, most: int = MOST_PIECES, **more: Any
) -> forms.IntegerField:
    """Ask for a whole number; the limits steer the thumb, the action decides."""
    limits = {"min": least, "max": most, "autocomplete": "off"}
    return forms.IntegerField(label=label, widget=forms.NumberInput(attrs=limits), **more)


def words(label: str, *, most: int, **more: Any) -> forms.CharField:
    """Ask for a few words, which may be left out unless ``required`` says otherwise."""
    return forms.CharField(label=label, max_length=most, **({"required": False} | more))


def prose(label: str, *, help_text: str = "") -> forms.CharField:
    """Ask for a few lines, which may be left out."""
    box = forms.Textarea(attrs={"rows": 3})
    return forms.CharField(
        label=label, required=False, max_length=4000, help_text=help_text, widget=box
    )


if TYPE_CHECKING:
    RackChoice = forms.ModelChoiceField[Rack]
else:
    RackChoice = forms.ModelChoiceField


class RackField(RackChoice):
    """Offer the racks in the order in which one walks past them."""

    def label_from_instance(self, obj: Rack) -> str:
        """Name the water, the trough and the rack."""
        return f"{obj.trough.system.name}: {obj}"


class CodesField(forms.Field):
    """Take the codes of the frags that were chosen, from hidden inputs or ticks."""

    widget = forms.MultipleHiddenInput

    def to_python(self, value: Any) -> list[str]:
        """Read the codes.

        Raises: ValidationError.
        """
        try:
            codes = [read_code(text) for text in value or []]
        except CodeError as error:
            raise ValidationError(error.message) from error
        if not 1 <= len(codes) <= MOST_FRAGS:
            raise ValidationError(f"Choose from 1 to {MOST_FRAGS} frags.")
        return codes


class CutForm(forms.Form):
    """One sitting at the bench with one colony."""

    pieces = whole("Living pieces", least=1)
    lost = whole("Lost at the bench", required=False, initial=0)
    medium = forms.ChoiceField(
        label="On", choices=list(MEDIUMS.items()), widget=forms.RadioSelect, initial="plug"
    )
    lot = forms.ChoiceField(
        label="Labels",
        choices=[("no", "One for each piece"), ("yes", "One for all, as a lot")],
        widget=forms.RadioSelect,
        initial="no",
    )
    first_code = words(
        "First printed label",
        most=200,
        help_text="The first blank one of the row that you use. Leave empty to print afterwards.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )
    rack = RackField(label="Rack", queryset=racks(), required=False, empty_label="Not placed yet")
    day = forms.DateField(label="Day", initial=today)
    despite_rest = words("Why it is cut all the same", most=200)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["day"].widget.attrs["max"] = today().isoformat()

    def ask_why(self) -> None:
        """Show the question for the reason as one that must be answered."""
        self.fields["despite_rest"].required = True

    def values(self) -> dict[str, Any]:
        """Return what the action takes."""
        cleaned = dict(self.cleaned_data)
        return cleaned | {"lot": cleaned["lot"] == "yes", "lost": cleaned["lost"] or 0}


class FragsForm(forms.Form):
    """Which frags, and to which page to go back."""

    codes = CodesField(label="Frags")
    back = forms.CharField(required=False, widget=forms.HiddenInput, label="Page")


class GradeForm(FragsForm):
    """How large frags are, by eye."""

    size = forms.ChoiceField(label="Size", choices=list(SIZES.items()), widget=forms.RadioSelect)
    heads = whole("Heads or polyps", least=1, most=999, required=False)


class PlaceForm(FragsForm):
    """Where frags stand from now on; a hole is for one frag."""

    rack = RackField(label="Rack", queryset=racks(), empty_label=None)
    row = whole("Row", least=1, most=40, required=False)
    column = whole("Hole in the row", least=1, most=40, required=False)


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
    note = words("Note", most=300)


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
