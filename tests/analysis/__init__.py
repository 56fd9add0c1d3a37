"""Checks of the laboratory and factory-control formulas."""
