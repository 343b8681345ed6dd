"""What is written to people about their ways in."""

ONCE = "The link is good once, until {until}. Whoever has it can use it: do not pass it on."


def one_line(text: str) -> str:
    """Return a text that may stand in a mail's subject: without breaks of lines."""
    return " ".join(text.split())


def link_mail(
    *, house: str, name: str, by: str, role: str, is_reset: bool, address: str, until: str
) -> tuple[str, str]:
    """Return subject and text of a mail that brings a link."""
    if is_reset:
        subject = f"A new password at {house}"
        why = f"{by} made a link with which you choose a new password at {house}."
    else:
        subject = f"Come in at {house}"
        why = f"{by} invites you to {house} as {role}. With this link you choose how you sign in."
    lines = [f"{name},", why, address, ONCE.format(until=until)]
    lines.append("If you expected nothing of the kind, do not open it, and tell them.")
    return one_line(subject), "\n\n".join(lines) + "\n"


def changed_mail(*, house: str, name: str, at: str) -> tuple[str, str]:
    """Return subject and text of a mail that tells of a new password."""
    lines = [
        f"{name},",
        f"your password at {house} was changed on {at}. All other visits have ended.",
        "If it was not you, tell an owner today.",
    ]
    return one_line(f"Your password at {house} was changed"), "\n\n".join(lines) + "\n"
