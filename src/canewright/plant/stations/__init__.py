"""The stations: one file for each kind of equipment."""
