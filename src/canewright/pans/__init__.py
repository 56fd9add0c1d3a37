"""Strikes in batch vacuum pans: what happens in the pan from footing to drop, the seed, the recipe, and their fit.

Importing the package reads nothing and solves nothing. Vacuum pans are vessels under vacuum with steam behind their
tubes, full of hot massecuite: figures of this package are advice to qualified people, never a control or safety system.
"""
