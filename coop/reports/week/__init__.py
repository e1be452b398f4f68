"""A manager's week ahead: sits, errands, the forecast, and what stands in the way."""
