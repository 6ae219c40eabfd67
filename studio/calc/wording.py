"""What is typed into a box to look for something."""


def searchable(typed: str) -> str:
    """The words without NUL, which no text in the database can hold, and without space around them."""
    return typed.replace("\0", " ").strip()
