"""The API: its conventions, its behaviour, and its own description of itself."""
