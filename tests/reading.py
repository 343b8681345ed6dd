"""Reading pages as a person does: the words without their markup."""

import re
from html import unescape

from django.http import HttpResponse

TAG = re.compile(r"<[^>]*>")


def words_on(answer: HttpResponse) -> str:
    """Return the words of a page in one line; markup inside a word leaves no trace."""
    return " ".join(unescape(TAG.sub("", answer.content.decode())).split())
