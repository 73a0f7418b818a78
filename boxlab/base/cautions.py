"""The cautions, each once. Whatever shows a number that can hurt takes the words from here.

A scene names the cautions that belong to it; panel, picture, command line and worksheet print them.
Local codes, the maker's instructions and licensed practice always go before these sentences.
"""

from __future__ import annotations

from types import MappingProxyType

CAUTIONS = MappingProxyType(
    {
        "supply": (
            "The fuse protects the cable: it sits next to the battery, before the cable passes "
            "through any metal. Disconnect the battery before you work, earth (ground) side "
            "first, and fit the fuse last."
        ),
        "far battery": (
            "Where a second battery feeds the cable from its far end, that end needs a fuse of its "
            "own: each source needs one beside it."
        ),
        "split": (
            "After a split, each thinner cable needs a fuse of its own, no larger than that cable "
            "can carry, next to the split."
        ),
        "licence": (
            "What the cable's maker prints, the vehicle maker's instructions and local codes go "
            "before this sum; leave what you are not licensed for to a licensed practitioner."
        ),
        "low load": (
            "A load below the least that an amplifier is rated for overheats it or shuts it down, "
            "and may set it alight: do not connect it."
        ),
        "hearing": (
            "Times like these come from rules for work, accept that some people lose hearing, and "
            "are no promise to any one ear. A ringing or muffled ear has already had too much."
        ),
        "loud": (
            "Levels like these do lasting harm within minutes: protect your ears before you test, "
            "keep it short, and mind who stands near."
        ),
        "peak": (
            "A peak of 140 dB or more may do lasting harm at once, whatever the dBA reading says: "
            "no time at all without hearing protection."
        ),
        "loose box": (
            "A loose box keeps the speed of the car in a crash and becomes a missile. Bolt or "
            "strap it to the body, not to trim, clear of fuel, airbags and belts, to local rules."
        ),
        "workshop": (
            "Board dust, MDF above all, harms the lungs: extraction and a mask that fits. Guards "
            "and riving knife stay on the saw; two people lift a heavy box."
        ),
        "live output": (
            "Take out the fuse before you undo a lead, and never connect a meter for small "
            "signals to a live amplifier."
        ),
        "sound card": (
            "Nothing here touches the mains: laptop on its battery, amplifier on a car battery "
            "with its fuse. Never connect a bridged or floating output to a sound card's ground, "
            "which destroys both: use a divider behind an isolating transformer or a differential "
            "input, with a small fuse in its lead."
        ),
        "test signal": (
            "Turn the amplifier all the way down before a test signal plays, then up until the "
            "cone hardly moves. A steady tone heats a coil more than music does, and a low one "
            "can tear a suspension in silence. Protect your ears."
        ),
        "hot coil": (
            "Smell or smoke from a driver: switch off, let it cool, and find out why before you "
            "play on. Coil, magnet and amplifier can stay hot enough to burn skin long after the "
            "music has ended."
        ),
        "boost": (
            "A 10 dB boost is ten times the heat in the coil at that note. Work out the watts "
            "first, stay under what the driver's maker allows, raise it by a decibel or two at a "
            "time, test for seconds, and use a high-pass filter below f3. Stop at the first knock. "
            "Do not wait for a smell: a coil that smells is already being damaged."
        ),
        "hot wiring": (
            "Wire, terminals or joints that get warm can set carpet and trim alight: switch off, "
            "and mend the joint, the cable or the fuse before you play on."
        ),
        # of a class, with things in its hands
        "class sound": (
            "Play demonstrations low, and never to show how loud. Bass harms without hurting; by "
            "the NIOSH rule (publication 98-126, 1998) 100 dBA is a quarter of an hour a day, and "
            "a dBA reading says little about bass."
        ),
        "class weights": (
            "Boxes with drivers are heavy: two people, and nothing on the edge of a table. Weights "
            "that swing are bolted, with a locking nut."
        ),
        "class wiring": (
            "Cables and fuses go round without a battery. Nobody works on a live one to prove a "
            "point. Local codes and licensed people have the last word."
        ),
        "class dust": "Cut before the class, elsewhere: guards, extraction, mask.",
        "class hands": (
            "Goggles where a spring is stretched, and it is tied at both ends. Washers fall on "
            "feet: keep them over the table. Glue by an open window. Glass bottles stay on the "
            "table. The radio stays low, and nobody puts an ear to it."
        ),
    }
)


def words(*names: str) -> tuple[str, ...]:
    """The cautions called `names`, as sentences, in that order.

    Raises
    ------
    ValueError
        For a name that is not in `CAUTIONS`.

    >>> words("split")[0][:13]
    'After a split'
    """
    unknown = [name for name in names if name not in CAUTIONS]
    if unknown:
        raise ValueError(f"no caution is called {unknown[0]!r}; there are {', '.join(CAUTIONS)}")
    return tuple(CAUTIONS[name] for name in names)
