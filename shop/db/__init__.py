"""Tables and the engine; nothing clever. Reads live in `queries`, writes in `services`."""
