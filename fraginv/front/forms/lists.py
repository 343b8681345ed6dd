"""What lists are narrowed to."""

from django import forms

from fraginv.front.queries.rows import FOR_SALE

# What a list of frags can be narrowed to, and its word.
STAGES = [
    ("", "living"),
    (FOR_SALE, "for sale"),
    *((stage, stage) for stage in ("healing", "growing", "ready", "sold", "lost")),
]


class FragFilterForm(forms.Form):
    """Which frags a list shows; what cannot be read is left out."""

    stage = forms.ChoiceField(
        choices=STAGES,
        required=False,
    )
    variety = forms.IntegerField(required=False, min_value=1)
    q = forms.CharField(required=False, max_length=80)
    after = forms.IntegerField(required=False, min_value=1)
