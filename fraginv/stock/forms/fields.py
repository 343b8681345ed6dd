"""Questions that several forms of the stock ask."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError

from fraginv.base.rules.codes import CodeError, read_code
from fraginv.stock.models import Rack
from fraginv.stock.rules.cutting import MOST_PIECES

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
