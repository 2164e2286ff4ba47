"""The cautions that go with a lamp: one place for the words, each shown where it matters."""

EYES = (
    "Eyes: never look into a lit lamp or its objective. Bright LEDs can reach the risk group of "
    "IEC 62471 in which only blinking and turning away protect; work with the beam covered."
)
HEAT = (
    "Heat: LEDs, films and panel get hot in a closed box. Fit a heat sink and moving air, measure "
    "temperatures before you leave it running, and keep paper and wood away."
)
OVERDRIVE = (
    "Overdriven LEDs fade, char their board and can set it alight. Stay below the data sheet's "
    "current and temperature, and put a fuse for little more than the working current in the lead."
)
SUPPLY = (
    "Supply: use a certified low-voltage supply that is protected against short circuits and is "
    "loaded to 80 % at most; no bare or home-made mains supplies."
)
MAINS = "Mains: leave mains wiring to a licensed electrician."
SUN = "Sun: lenses and Fresnel sheets set fire to things in sunlight. Cover them when not in use."
LOCAL = "Local codes and licensed practice come before anything printed here."

# Where light is spoken of, where electricity is, and all of them for a write-up.
FOR_OPTICS = (EYES, HEAT, SUN, SUPPLY, MAINS, LOCAL)
FOR_SUPPLY = ALL = (EYES, HEAT, OVERDRIVE, SUPPLY, MAINS, SUN, LOCAL)

# What the groups of IEC 62471 mean, in plain words.
RISK_GROUPS = {
    "exempt": "no hazard to the eye",
    "risk group 1": "no hazard in normal use",
    "risk group 2": "do not stare: only turning away protects the eye",
    "risk group 3": "a hazard even for a moment: do not use it bare",
}
