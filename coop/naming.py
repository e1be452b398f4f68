"""How somebody is found by name in texts that hold no id of theirs."""


def can_be_sought_in_texts(name: str) -> bool:
    """Whether a name within a text is surely a person's: one of a single word ("Oak") may be a
    word of the ground, and counts only where it stands alone."""
    return " " in name
