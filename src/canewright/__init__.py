"""canewright: one plant model of a cane sugar mill and refinery, asked three questions.

Predict what a set of settings gives, reconcile a day's readings with the same equations, and advise what to change.
"""

__version__ = "0.1.0"
