"""Leases of one property that stand never overlap: held by the database."""

from properties.land.overlap_guards import overlap_guard

CONSTRAINT = "lease_no_overlap"

INSTALL, REMOVE = overlap_guard(
    table="properties_lease",
    constraint=CONSTRAINT,
    message="leases of one property overlap",
    same=("property_id",),
    may_be_open=False,
)
