"""An invented season with known truth, and how well the accounts see through it.

One half makes the files of a season and, in another folder, the truth; the other closes the season from its files
alone. Only the score reads both.
"""
