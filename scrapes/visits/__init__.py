"""Visits from observations: effort, rates, the season's curve, the drop test."""
