"""Reading pages as a person does: the words without their markup."""

import re
from html import unescape
from typing import Protocol


class Page(Protocol):
    """What a test client answers with."""

    content: bytes


TAG = re.compile(r"<[^>]*>")


def words_on(answer: Page) -> str:
    """Return the words of a page in one line; markup inside a word leaves no trace."""
    return " ".join(unescape(TAG.sub("", answer.content.decode())).split())
