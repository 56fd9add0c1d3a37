"""Cane as delivered: consignments, growers and payment."""
