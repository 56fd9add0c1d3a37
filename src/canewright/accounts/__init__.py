"""The day: readings, figures, the reconciled balance, periods and the day sheet."""
