"""Pages, rendered on the server; they show what accounts knows and compute nothing."""
