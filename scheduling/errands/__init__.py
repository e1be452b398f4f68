"""Work to be done on the land: by whom, when, and why."""
