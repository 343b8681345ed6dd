"""What a person fills in to file a photo."""

from typing import Final, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile

from fraginv.base.actions.files import Unpacked, unpack_picture
from fraginv.base.errors import InputError
from fraginv.base.rules.pictures import check_bytes
from fraginv.growth.rules.intake import Read
from fraginv.growth.seeing.labels import labels_of_picture

EMPTY: Final = (
    "The file is empty, as one is that the phone has not fetched from its cloud yet. Open the"
    " picture on the phone once, then choose it again, or take a new one."
)


class PhotoForm(forms.Form):
    """Ask for one picture; a phone offers its camera and its gallery."""

    picture = forms.FileField(
        label="Picture",
        help_text="JPEG, PNG, WebP or HEIC, at most 25 MB. Place and device are removed from it.",
        widget=forms.FileInput(attrs={"accept": "image/*"}),
        error_messages={"empty": EMPTY},
    )
    caption = forms.CharField(
        label="What it shows",
        required=False,
        max_length=200,
        help_text="For instance the light, or what to look at.",
    )

    def clean_picture(self) -> Unpacked | None:
        """Unpack the picture, so that nothing is left to be done of it while rows are locked.

        One that is too large is refused before it is read.
        """
        picture: UploadedFile[bytes] | None = self.cleaned_data["picture"]
        if not picture:
            return None
        try:
            check_bytes(picture.size or 0)
            return unpack_picture(picture.read())
        except InputError as error:
            raise forms.ValidationError(error.message) from error


class ReadPhotoForm(PhotoForm):
    """Ask for the same, and read which labels it shows while it is unpacked anyway."""

    read = Read()

    def clean_picture(self) -> Unpacked | None:
        """Unpack the picture and read its labels, before rows are locked."""
        picture = super().clean_picture()
        if picture is not None:
            file = cast("UploadedFile[bytes]", self.files["picture"])
            file.seek(0)
            self.read = labels_of_picture(file.read(), picture.prepared)
        return picture
