"""The two readings of 'independent' that the literature leaves open."""

from enum import StrEnum


class IndependenceRule(StrEnum):
    """Where the gap that begins a new visit is measured from."""

    SINCE_LAST_PICTURE = "since_last_picture"
    SINCE_LAST_COUNTED = "since_last_counted"
