"""What is sent when frags of a list are graded."""

from typing import Any

from django import forms

from fraginv.base.rules.codes import CodeError, read_code
from fraginv.stock.forms.fields import CodesField
from fraginv.stock.rules.stages import SIZES

HEADS = "heads-"
TICKED = "ticked"


class ReadyForm(forms.Form):
    """One frag at a size with one tap, or all that are ticked; or that they are not ready yet.

    ``later`` is the code of one, or *ticked*.
    """

    later = forms.CharField(required=False, max_length=40)
    one = forms.CharField(required=False, max_length=40)
    size = forms.ChoiceField(choices=[("", ""), *SIZES.items()], required=False)
    codes = CodesField(required=False)

    def clean(self) -> dict[str, Any]:
        """Return the codes, the size, and the heads of one.

        Raises: ValidationError for neither one nor any that is ticked.
        """
        if any(name in self.errors for name in ("one", "size", "later")):
            return {}
        if self.cleaned_data.get("later"):
            return self.put_off(self.cleaned_data["later"])
        code, _, size = self.cleaned_data.get("one", "").partition(":")
        if code:
            self.errors.pop("codes", None)
            return {"codes": [code_of(code)], "size": size_of(size), "heads": self.heads_of(code)}
        if not self.cleaned_data.get("size") or "codes" in self.errors:
            self.errors.pop("codes", None)
            raise forms.ValidationError("Tick the frags that are ready, then choose their size.")
        asked = {"codes": self.cleaned_data["codes"], "size": self.cleaned_data["size"]}
        return asked | {"heads": None}

    def put_off(self, which: str) -> dict[str, Any]:
        """Return the codes of what is not ready yet.

        Raises: ValidationError for none.
        """
        wrong = "codes" in self.errors
        self.errors.pop("codes", None)
        if which != TICKED:
            return {"codes": [code_of(which)], "later": True}
        if wrong or not self.cleaned_data.get("codes"):
            raise forms.ValidationError("Tick the frags that are not ready yet.")
        return {"codes": self.cleaned_data["codes"], "later": True}

    def heads_of(self, code: str) -> int | None:
        """Return the heads that were typed beside a frag.

        Raises: ValidationError for what is no number.
        """
        typed = str(self.data.get(f"{HEADS}{code}", "")).strip()
        if not typed:
            return None
        if not (typed.isascii() and typed.isdigit() and len(typed) < 4):
            raise forms.ValidationError(f"{typed[:10]} heads: write a number from 1 to 999.")
        return int(typed)


def size_of(text: str) -> str:
    """Return a size.

    Raises: ValidationError.
    """
    if text not in SIZES:
        raise forms.ValidationError("Choose one of the sizes.")
    return text


def code_of(text: str) -> str:
    """Return a code.

    Raises: ValidationError.
    """
    try:
        return read_code(text)
    except CodeError as error:
        raise forms.ValidationError(error.message) from error
