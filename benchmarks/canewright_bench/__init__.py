"""Times the engine on a plant against named rivals in the same run, on the same residuals, start and tolerance."""
