"""A manager's list, week by week, by the calendar of the property."""
