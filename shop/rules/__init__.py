"""The shop's decisions, pure: sequences, holds and whether a stage may be reached now."""
