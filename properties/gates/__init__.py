"""Getting there: gates and their codes, where to park, the way to drive, the vehicle's rule."""
