"""The plant: streams, stations, its description, and the one model they make."""
