"""Values of one kind of regulation and property that stand never overlap: held by the database."""

from properties.land.overlap_guards import overlap_guard

CONSTRAINT = "regulation_no_overlap"

INSTALL, REMOVE = overlap_guard(
    table="properties_regulation",
    constraint=CONSTRAINT,
    message="values of one kind of regulation overlap",
    same=("property_id", "kind"),
    may_be_open=True,
)
