"""What the door leaves behind and is taken away at night."""

from django.contrib.sessions.backends.db import SessionStore

from fraginv.base.transactions import one_transaction
from fraginv.people.actions.phones import prune_phones
from fraginv.people.actions.throttling import prune_attempts


@one_transaction
def prune_visits() -> None:
    """Take away the sessions of visits that have ended by themselves.

    Queries: 1.
    """
    SessionStore.clear_expired()


@one_transaction
def prune_door() -> None:
    """Take away all that the door no longer needs: ended visits, old tries, forgotten phones."""
    prune_visits()
    prune_attempts()
    prune_phones()
