"""Who may import whom: the table of DEVELOPERS.md as data. `test_docs` holds the two together.

A word instead of "yes" narrows the permission; the words are those of `NARROWED`.
"""

ROOMS = ("craft", "rules", "db", "queries", "services", "outside", "web")

# importer -> what it may import from each room; a room that is missing is forbidden.
MAY_IMPORT: dict[str, dict[str, str]] = {
    "craft": {"craft": "yes"},
    "rules": {"craft": "yes", "rules": "yes"},
    "db": {"craft": "value types", "rules": "enums", "db": "yes"},
    "queries": {"craft": "yes", "rules": "yes", "db": "yes", "queries": "yes"},
    "services": {"craft": "yes", "rules": "yes", "db": "yes", "queries": "yes", "services": "yes"},
    "outside": {"craft": "yes", "queries": "yes", "outside": "yes"},
    "web": {
        "craft": "yes",
        "rules": "yes",
        "db": "session only",
        "queries": "yes",
        "services": "yes",
        "outside": "yes",
        "web": "yes",
    },
}
NARROWED = {"value types", "enums", "session only"}

# Import names, not distribution names. Typed `...` where a room wraps one library per module.
THIRD_PARTY: dict[str, frozenset[str] | None] = {
    "craft": frozenset({"numpy", "scipy"}),
    "rules": frozenset(),
    "db": frozenset({"sqlalchemy", "pysqlite3"}),
    "queries": frozenset({"sqlalchemy"}),
    "services": frozenset({"sqlalchemy"}),
    "outside": None,
    "web": frozenset({"fastapi", "starlette", "jinja2", "markupsafe", "pydantic"}),
}

# Modules at the top of `shop` that the rooms may use; everything else there is for the wiring alone.
SHARED_TOP = {
    "shop.paths": frozenset({"db", "outside", "web"}),
    # The hub that handlers ask carries both; the clock's functions are still called in one place.
    "shop.clock": frozenset({"web"}),
    "shop.config": frozenset({"web"}),
}
