"""Checks of the property formulas."""
