"""Plant descriptions written from answers to short questions: every number is the answer given or marked as assumed."""
