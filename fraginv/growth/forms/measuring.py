"""What a person sends of what was drawn into a photo."""

from typing import Any

from django import forms

from fraginv.base.errors import InputError
from fraginv.growth.rules.drawn import MOST_HEADS, MOST_POINTS, ByHand, Drawn, Pairs, read_points
from fraginv.growth.rules.heights import MOST_MM
from fraginv.growth.rules.measured import OutlineBy
from fraginv.growth.rules.problems import HEIGHT_MISSING

LONGEST_POINTS = 20_000


class PointsField(forms.CharField):
    """Points in pixels as JSON."""

    def __init__(self, *, most: int) -> None:
        super().__init__(required=False, max_length=LONGEST_POINTS, widget=forms.HiddenInput)
        self.most = most

    def clean(self, value: Any) -> Pairs:
        """Read the points; what they are not is said."""
        text = super().clean(value)
        try:
            return read_points(text, most=self.most)
        except InputError as error:
            raise forms.ValidationError(error.message) from error


class ScaleForm(forms.Form):
    """Ask how high the frag is widest, and how the photo was taken."""

    height_mm = forms.FloatField(
        label="Height of its widest part, mm",
        help_text="Above the card, label or known length. What stands closer looks larger.",
        required=False,
        min_value=0,
        max_value=MOST_MM,
        localize=True,
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
    )
    through_water = forms.BooleanField(label="Taken through the water's surface", required=False)
    length_mm = forms.FloatField(label="Length between the two points, mm", required=False)
    ends = PointsField(most=4)

    def by_hand(self) -> ByHand | None:
        """Return the scale that was set by hand, if any was."""
        ends, length = self.cleaned_data["ends"], self.cleaned_data["length_mm"]
        return ByHand(ends, length) if ends and length is not None else None


class TapForm(ScaleForm):
    """Ask where the coral was tapped."""

    x = forms.FloatField(widget=forms.HiddenInput)
    y = forms.FloatField(widget=forms.HiddenInput)

    def drawn(self) -> Drawn:
        """Return height and scale."""
        sent = self.cleaned_data
        return Drawn(
            height_mm=sent["height_mm"],
            through_water=sent["through_water"],
            by_hand=self.by_hand(),
        )


class OutlineForm(ScaleForm):
    """Ask for an outline, heads, or both."""

    outline = PointsField(most=MOST_POINTS)
    heads = PointsField(most=MOST_HEADS)
    by = forms.ChoiceField(choices=[(one.value, one.value) for one in OutlineBy], required=False)
    present = forms.IntegerField(required=False, widget=forms.HiddenInput)
    sure = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def drawn(self) -> Drawn:
        """Return what was drawn."""
        sent = self.cleaned_data
        return Drawn(
            height_mm=sent["height_mm"],
            through_water=sent["through_water"],
            handles_px=sent["outline"],
            heads_px=sent["heads"],
            outline_by=OutlineBy(sent["by"] or OutlineBy.DRAWN),
            by_hand=self.by_hand(),
            sure=frozenset([sent["sure"]]),
        )


class WidthForm(ScaleForm):
    """Ask for the frag's width between two taps; a known length comes before them, if any."""

    taps = PointsField(most=4)
    present = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, by_hand: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        height, length = self.fields["height_mm"], self.fields["length_mm"]
        height.required, length.required = True, by_hand
        height.error_messages["required"] = HEIGHT_MISSING.text

    def drawn(self) -> Drawn:
        """Return what was tapped."""
        sent = self.cleaned_data
        known, ends = sent["taps"][:-2], sent["taps"][-2:]
        length = sent["length_mm"]
        return Drawn(
            height_mm=sent["height_mm"],
            through_water=sent["through_water"],
            ends_px=ends,
            by_hand=ByHand(known, length) if known and length is not None else None,
        )
