"""How fast the program is beside a bare floor that does the same job; run `python -m tests.benchmarks`.

Nothing here is asserted: the figures are ratios of two servers measured side by side in one run.
"""
