"""What is asked when a table is brought in."""

from django import forms
from django.core.files.uploadedfile import UploadedFile

from fraginv.base.door import MEGABYTE, MOST_WITH_A_FILE
from fraginv.base.rules.typed_days import DayOrder

# Beside the file there are the form's other fields.
MOST_BYTES = MOST_WITH_A_FILE - MEGABYTE
ORDERS = {
    DayOrder.YEAR_FIRST.value: "Year first, as in 2026-11-25, or as days of the spreadsheet",
    DayOrder.DAY_FIRST.value: "Day first, as in 25.11.2026 or 25/11/2026",
    DayOrder.MONTH_FIRST.value: "Month first, as in 11/25/2026",
}


class UploadForm(forms.Form):
    """A table, and how the days in it are written."""

    file = forms.FileField(
        label="Your table",
        help_text="CSV or XLSX, up to 50,000 rows and 25 MB. Nothing is brought in before you "
        "have seen it.",
        widget=forms.FileInput(attrs={"accept": ".csv,.xlsx"}),
        # A table without anything in it is said so like every other that cannot be read.
        allow_empty_file=True,
    )
    days = forms.ChoiceField(
        label="How days are written in it",
        choices=list(ORDERS.items()),
        widget=forms.RadioSelect,
        initial=DayOrder.YEAR_FIRST.value,
    )

    def clean_file(self) -> "UploadedFile[bytes]":
        """Refuse a file that is larger than a table can be, before it is read."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError(
                "The file is larger than 25 MB. Split the table into several files."
            )
        return file

    def order(self) -> DayOrder:
        """Return how days are written."""
        return DayOrder(self.cleaned_data["days"])


class BringInForm(forms.Form):
    """Whether rows that are here already shall come in once more."""

    knowingly = forms.BooleanField(label="Bring them in once more all the same", required=False)
