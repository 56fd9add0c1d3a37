"""The steps by which the tables came to be, each forwards and backwards."""
