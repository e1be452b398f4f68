"""Where to put a scrape and how to turn its branch."""
