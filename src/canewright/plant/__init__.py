"""The plant: streams, stations, the description a person writes, and the assembled model."""
