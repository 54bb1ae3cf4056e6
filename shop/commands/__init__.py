"""The commands: each reads its words, calls what the pages call too, and says one line."""
