"""What ``verify`` finds."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Difference:
    """One place where two things that must agree do not.

    Attributes: ``where`` names the row or file in words a person can follow
    ("frag 7K3-Q9F-N", "sale 2026-0012"), ``what`` says how the two differ.
    """

    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}"
