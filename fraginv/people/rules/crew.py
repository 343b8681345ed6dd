"""What may be changed about people, and by whom."""

from collections.abc import Collection

STRANGER = "Only an owner sees to people, and you are none any more. Sign in again."
LAST_OWNER = (
    "{name} is the only owner. Make somebody else an owner first: "
    "without one, nobody could see to people any more."
)
OWN_ROLE = "Nobody changes their own role or puts themselves out. Ask another owner."


def why_not_change(
    person_id: int, *, name: str, by_id: int, owners: Collection[int], stays_owner: bool
) -> str:
    """Say why an owner may not change a person's role or put them out; empty if it is in order.

    Args: ``owners`` are the people who are owners and may sign in at this
        moment; ``stays_owner`` tells whether the person is still one afterwards.
    """
    if by_id not in owners:
        return STRANGER
    if set(owners) == {person_id} and not stays_owner:
        return LAST_OWNER.format(name=name)
    return OWN_ROLE if person_id == by_id else ""
