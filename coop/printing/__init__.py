"""Colours by day and by night, and paper from HTML: for every floor that shows a page."""
