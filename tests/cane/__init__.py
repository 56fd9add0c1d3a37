"""Checks of consignments and cane payment."""
