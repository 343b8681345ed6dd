"""What is asked of a count, frag by frag."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms

from fraginv.base.rules.codes import show_code
from fraginv.front.queries.counting import Missing
from fraginv.front.queries.racks import Piece
from fraginv.stock.forms.fields import CODE_BOX, RackField, words
from fraginv.stock.queries.places import racks
from fraginv.stock.rules.counts import FATE_WORDS, OF_MISSING, Fate, Settled
from fraginv.stock.rules.stages import CAUSES

AS_ALL = ("", "As chosen above")
UNSAID = ("", "Choose what became of them")


class CountForm(forms.Form):
    """Which frags of a rack were found, how many of each lot, and what else is there."""

    what = words(
        "Scan or type what is there",
        most=4000,
        help_text="Codes, or their last three characters; also of what should stand elsewhere.",
        widget=forms.TextInput(attrs=CODE_BOX),
    )

    def __init__(
        self, *args: Any, pieces: Sequence[Piece], there: Mapping[int, int] | None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.pieces = pieces
        for piece in pieces:
            frag = piece.frag
            kept = None if there is None else there.get(frag.pk)
            if frag.is_lot:
                self.fields[f"lot_{frag.pk}"] = forms.IntegerField(
                    required=False, min_value=0, initial=kept
                )
            else:
                self.fields[f"one_{frag.pk}"] = forms.BooleanField(
                    required=False, initial=bool(kept)
                )

    def ticks(self) -> set[int]:
        """Return the single frags that stand ticked."""
        return {piece.frag.pk for piece in self.pieces if self.stands(f"one_{piece.frag.pk}")}

    def stands(self, name: str) -> bool:
        """Tell whether a question that exists is answered by yes."""
        return name in self.fields and bool(self[name].value())

    def numbers(self) -> dict[int, Any]:
        """Return what stands in the boxes of the lots."""
        lots = [piece.frag.pk for piece in self.pieces if piece.frag.is_lot]
        return {pk: self[f"lot_{pk}"].value() for pk in lots}

    def there(self, also: Iterable[int]) -> dict[int, int]:
        """Return how many pieces of each frag were found; a lot without a number is not there.

        Args: ``also`` are frags of the rack whose codes were typed: a lot among them is whole.
        """
        typed, found = set(also), {}
        for piece in self.pieces:
            frag = piece.frag
            if frag.is_lot:
                number = self.cleaned_data.get(f"lot_{frag.pk}")
                whole = frag.pieces if frag.pk in typed else 0
                found[frag.pk] = whole if number is None else number
            else:
                ticked = bool(self.cleaned_data.get(f"one_{frag.pk}"))
                found[frag.pk] = int(ticked or frag.pk in typed)
        return found

    def texts(self) -> list[str]:
        """Return each code as it was typed or scanned, each once."""
        return list(dict.fromkeys(self.cleaned_data["what"].replace(",", " ").split()))


class SettleForm(forms.Form):
    """What became of what is missing or too many; nothing is written off unasked."""

    fate = forms.ChoiceField(
        label="What is missing",
        choices=[(one.value, FATE_WORDS[one]) for one in OF_MISSING],
        widget=forms.RadioSelect,
        initial=OF_MISSING[0].value,
    )
    cause = forms.ChoiceField(
        label="Cause, if lost", choices=list(CAUSES.items()), initial="unknown"
    )
    rack = RackField(label="If elsewhere, in this rack", queryset=racks(), required=False)

    def __init__(self, *args: Any, missing: Sequence[Missing], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.missing = missing
        for one in missing:
            choices = [(fate.value, FATE_WORDS[fate]) for fate in one.gap.fates]
            if one.gap.short > 0:
                choices.insert(0, UNSAID if one.gap.found else AS_ALL)
            label = f"{one.piece.frag.variety.name} {show_code(one.piece.frag.code_id)}"
            self.fields[f"fate_{one.gap.frag}"] = forms.ChoiceField(
                label=f"{label}: {one.said}",
                choices=choices,
                required=bool(one.gap.found),
                initial=choices[0][0],
            )
        if not any(one.gap.found == 0 for one in missing):
            del self.fields["fate"], self.fields["rack"]
        if not any(one.gap.short > 0 for one in missing):
            del self.fields["cause"]

    def settled(self) -> dict[int, Settled]:
        """Return how each gap is settled."""
        asked = self.cleaned_data
        usual, cause = asked.get("fate", OF_MISSING[0].value), asked.get("cause", "unknown")
        return {
            one.gap.frag: Settled(Fate(asked[f"fate_{one.gap.frag}"] or usual), cause)
            for one in self.missing
        }
