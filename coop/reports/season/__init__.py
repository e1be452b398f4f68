"""The cooperative's season: every property beside the others, nobody by name."""
