"""The care sheet: what a customer is told once a rod is theirs. Here is what a shop may begin with.

What the ready-made text says of keeping a rod is common practice, no source. It is shown to nobody before the
shop has looked at it and kept it as its own.
"""

MOST_CARE = 5000

READY_MADE = """\
Before its first days on the water
Leave it out of a closed bag or tube for a week: the finish on the wraps is dry, and still grows harder.
Do not leave it in a hot car; glue and finish soften with heat.

Each time you come home
Rinse it with fresh water, the guides and the reel seat above all, and more so after salt water.
Wipe it dry, let it stand in the air, and put it away dry: a wet bag stains cork and marks the finish.
Loosen the reel, and take the sections apart before they stick.

While you fish
Wear eyes behind glass; a hook comes back faster than you can blink.
Carbon conducts electricity: keep the rod well away from power lines, and put it down when thunder is near.
Bend it from the handle, not by holding the blank further up, and do not lift a fish with the tip held high.
Turn a stuck joint apart with straight arms; never twist it by a guide.

Once or twice a year
Look at each ring with a cotton swab: a thread that catches shows a crack, and a cracked ring cuts line.
Wash the cork with a little soap, and wax the joints as you were shown.
If a wrap looks milky, lifts or cracks, write to us before it goes further.
"""


def faults_of_care_sheet(text: str) -> dict[str, str]:
    """What keeps a text from being a care sheet, by field; an empty one is none at all."""
    if len(text) > MOST_CARE:
        return {"care_sheet": f"The care sheet has {len(text)} characters; at most {MOST_CARE} fit."}
    return {}
