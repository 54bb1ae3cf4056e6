"""Pages and API: parse, call one thing, answer."""
