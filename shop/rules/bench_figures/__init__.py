"""The figures of a rod’s bench ticket, worked out from its make-up by the bench calculators."""
