"""The emergency sheet of a property, declared emergencies, and people's own medical notes."""
