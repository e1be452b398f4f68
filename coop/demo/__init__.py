"""The demo: an invented cooperative, laid out around today.

Everything in here is made up: the cooperative, its people, properties, outfitter, deer and
weather. Names that resemble anybody's or anything's do so by chance. What is real is the way
the made-up files go in: through the same imports, jobs and rules as anybody's own.

This package stands above every floor, beside the commands, and nothing imports it but them.
"""
