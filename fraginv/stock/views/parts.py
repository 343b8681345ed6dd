"""What the pages of this package share."""


def counted(count: int, one: str, many: str) -> str:
    """Say how many of something."""
    return f"{count} {one if count == 1 else many}"
