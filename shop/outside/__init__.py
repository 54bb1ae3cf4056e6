"""The world outside: each module a thin wrapper around one library."""
