"""What is kept: readings, closed days, history; the only part that knows a database."""
