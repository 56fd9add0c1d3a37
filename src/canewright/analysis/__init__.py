"""Laboratory and factory-control formulas: from what was read to what it means."""
