"""The blank as a slender beam under a load at its tip: stiffness, shape, and the line through its guides.

An estimate from a model, to start a static test from and not to replace it.
"""
