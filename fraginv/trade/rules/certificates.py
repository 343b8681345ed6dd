"""When a buyer for resale is exempt from sales tax."""

from dataclasses import dataclass
from datetime import date

from fraginv.base.errors import InputError


@dataclass(frozen=True, slots=True)
class Certificate:
    """A resale certificate on file: the state, its number for the buyer, and its days."""

    state: str
    number: str
    valid_from: date | None
    valid_until: date | None

    @property
    def shown(self) -> str:
        """Return how papers name it."""
        return f"{self.state} {self.number}"


def covers(certificate: Certificate, day: date) -> bool:
    """Tell whether a certificate makes a sale of that day exempt.

    It must have state, number and both days, and the day of sale between them.

    Source: fields after the Multistate Tax Commission's uniform resale certificate
    (revisions of 2020 and 2022): each state's number for the buyer is asked for.
    """
    if not (certificate.state and certificate.number):
        return False
    if certificate.valid_from is None or certificate.valid_until is None:
        return False
    return certificate.valid_from <= day <= certificate.valid_until


def check_certificate(certificate: Certificate) -> None:
    """Refuse a certificate that is half filled in or ends before it begins.

    Raises: InputError.
    """
    parts = [
        bool(certificate.state),
        bool(certificate.number),
        certificate.valid_from is not None,
        certificate.valid_until is not None,
    ]
    if any(parts) and not all(parts):
        raise InputError(
            "A resale certificate needs its state, its number, and the days from and until "
            "which it is valid. Fill in all four, or none."
        )
    if (
        certificate.valid_from is not None
        and certificate.valid_until is not None
        and certificate.valid_until < certificate.valid_from
    ):
        raise InputError("The certificate ends before it begins.")
