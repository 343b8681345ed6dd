"""Django finds a package's tables here; this file only imports them."""

from fraginv.people.models.crew import CrewEvent
from fraginv.people.models.invitations import Invitation
from fraginv.people.models.phones import Phone, PhonePerson, Pin

__all__ = ["CrewEvent", "Invitation", "Phone", "PhonePerson", "Pin"]
