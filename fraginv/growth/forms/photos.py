"""What a person fills in to file a photo."""

from django import forms
from django.core.files.uploadedfile import UploadedFile

from fraginv.base.errors import InputError
from fraginv.base.rules.pictures import check_bytes


class PhotoForm(forms.Form):
    """Ask for one picture; a phone offers its camera and its gallery."""

    picture = forms.FileField(
        label="Picture",
        help_text="JPEG, PNG, WebP or HEIC, at most 25 MB. Place and device are removed from it.",
        widget=forms.FileInput(attrs={"accept": "image/*"}),
    )
    caption = forms.CharField(
        label="What it shows",
        required=False,
        max_length=200,
        help_text="For instance the light, or what to look at.",
    )

    def clean_picture(self) -> "UploadedFile[bytes]":
        """Refuse a file that is too large before it is read."""
        picture: UploadedFile[bytes] = self.cleaned_data["picture"]
        try:
            check_bytes(picture.size or 0)
        except InputError as error:
            raise forms.ValidationError(error.message) from error
        return picture
